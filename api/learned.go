package api

import (
	"context"
	"strings"

	"wideberth/api/store"
	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing"
)

// taught is the planner with what the asker's account has learnt about the place:
// factors from its walks, sources from its reports. Without a store it is the
// plain one.
func (s *Server) taught(ctx context.Context) (*routing.Planner, *exposure.Factors, error) {
	w, err := who(ctx)
	if s.opt.Store == nil || err != nil {
		return s.planner, nil, nil
	}
	l, err := s.opt.Store.Learned(ctx, w)
	if err != nil {
		return nil, nil, err
	}
	reported, there := s.reported(l.Reported)
	if len(l.Cells) == 0 && len(l.Mapped) == 0 && len(reported) == 0 {
		return s.planner, nil, nil
	}
	fa := &exposure.Factors{Walks: l.Walks, Cells: l.Cells, There: map[int32]float64{}}
	mapped := s.planner.Snapshot().Field.Sources
	for i := range mapped {
		if left, ok := l.Mapped[mapped[i].OSM]; ok {
			fa.There[int32(i)] = left
		}
	}
	for i, x := range there {
		fa.There[int32(len(mapped)+i)] = x
	}
	laid := make([]*exposure.Laid, len(reported))
	for i := range reported {
		laid[i] = s.planner.Lay(reported[i])
	}
	return s.planner.WithLaid(laid), fa, nil
}

// reported turns live reports into sources, with the probability of each that it
// is there.
func (s *Server) reported(list []store.Report) (out []exposure.Source, there []float64) {
	f := s.planner.Frame()
	for i := range list {
		r := &list[i]
		kind, err := exposure.ParseKind(r.Kind)
		if err != nil {
			continue // the store took it under a name that this program does not know
		}
		src := exposure.Source{OSM: "report/" + r.ID, As: "report", Name: r.What, Hours: r.Hours, RadiusM: float32(r.RadiusM), Activity: exposure.ActivityOf(kind)}
		if strings.TrimSpace(src.Name) == "" {
			src.Name = kind.Info().Noun
		}
		if r.Lat != nil && r.Lon != nil {
			src.At = f.Forward(*r.Lon, *r.Lat)
		}
		if len(r.Area) > 2 {
			ring := make(plane.Ring, len(r.Area))
			for j, c := range r.Area {
				ring[j] = f.Forward(c[0], c[1])
			}
			src.Area = []plane.Polygon{{Outer: ring}}
			src.At, src.AreaM2 = src.Area[0].Inside(), float32(src.Area[0].AreaM2())
		}
		n := float32(r.Number)
		m := exposure.Presence{Kind: kind, Present: n}
		if kind.Info().Motion == exposure.SoundEvent {
			m = exposure.Presence{Kind: kind, PerDay: n}
		}
		src.Capacity, src.Mix = n, []exposure.Presence{m}
		out, there = append(out, src), append(there, r.Presence)
	}
	return out, there
}

// dogOf is the dog of a request: a kept one by its id, or the one that was sent.
func (s *Server) dogOf(ctx context.Context, id string, sent *exposure.DogFile) (*exposure.Dog, error) {
	if id == "" {
		dog, err := dogOf(sent)
		return dog, inDog(err)
	}
	w, err := who(ctx)
	if err != nil {
		return nil, err
	}
	kept, err := s.opt.Store.Dog(ctx, w, id)
	if err != nil {
		return nil, err
	}
	return kept.Model(), nil
}
