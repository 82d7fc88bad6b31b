package knowledge

import (
	"slices"
	"strings"
	"time"

	"wideberth/api/store"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/exposure/learning"
	"wideberth/osmdata/plane"
	"wideberth/routing"
)

// known is what one state of an account's rows teaches.
type known struct {
	mark   string
	walks  int // that cells rest on
	cells  map[exposure.Cell]exposure.Factor
	spoken []*source
	live   []*source        // those of spoken that the planner below counts, in its order
	on     *routing.Planner // the planner below them: with what was counted by hand
	bound  int              // edges whose levels those counts change
	with   *routing.Planner // with the live ones; nil before the first look
	bytes  int              // about how much memory it takes
}

// source is one that people spoke of.
type source struct {
	*learning.Spoken
	report string
	mapped []int32         // of the map; none for one that a report made up
	made   exposure.Source // else
	laid   *exposure.Laid  // made, once it was live
}

// learn works out what rows teach. What is known before saves laying the same
// reports again: where a report lies does not change.
func (b *Base) learn(p *routing.Planner, l *store.Lessons, before *known) (*known, error) {
	k := &known{mark: l.Mark}
	tallies, walks := learning.Tallies{}, map[string]bool{}
	for _, x := range l.Tallies {
		walks[x.Walk] = true
		if c, ok := exposure.ParseCell(x.Kind, x.Place, x.Part); ok {
			tallies.Add(c, x.Observed, x.Expected)
		}
	}
	k.walks = len(walks)
	var err error
	if k.on, err = counted(p, l.Counts); err != nil {
		return nil, err
	}
	if k.cells, err = tallies.Factors(); err != nil {
		return nil, err
	}
	k.bound = k.on.Snapshot().Field.BoundEdges()
	laid := map[string]*exposure.Laid{}
	if before != nil {
		for _, s := range before.spoken {
			laid[s.report] = s.laid
		}
	}
	for i := range l.Reports {
		r := &l.Reports[i]
		s := &source{Spoken: Spoken(r), report: r.ID, laid: laid[r.ID]}
		if r.Mapped != "" {
			s.mapped = b.sources(p)[r.Mapped]
		} else if kind, err := exposure.ParseKind(r.Kind); err == nil { // else the store took it under a name that this program does not know
			if !shows(p, r) {
				continue // of another map
			}
			s.made = madeOf(p, r, kind)
		} else {
			continue
		}
		k.spoken = append(k.spoken, s)
	}
	k.weigh()
	return k, nil
}

// counted is the planner with what people of an account counted by hand.
func counted(p *routing.Planner, list []exposure.Count) (*routing.Planner, error) {
	if len(list) == 0 {
		return p, nil
	}
	p, _, err := p.WithCounts(list)
	return p, err
}

// besideM is how far beside a map a reported source is still met on it.
const besideM = exposure.BinMaxM

// shows says that a report lies on a map, or so near that it is met there.
func shows(p *routing.Planner, r *kept.Report) bool {
	if r.Lat != nil && r.Lon != nil && p.Land().Shows(*r.Lat, *r.Lon, besideM+float64(r.RadiusM)) {
		return true
	}
	return slices.ContainsFunc(r.Area, func(c [2]float64) bool { return p.Land().Shows(c[1], c[0], besideM) })
}

// madeOf is a report as the field of a map has sources.
func madeOf(p *routing.Planner, r *kept.Report, kind exposure.Kind) exposure.Source {
	f := p.Frame()
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
	return src
}

// asOf weighs what was said at a moment: words fade and reports end without any
// change of the rows. The planner is made anew only where other reports are live than
// at the last look.
func (b *Base) asOf(p *routing.Planner, k *known, now time.Time) (*routing.Planner, *exposure.Factors, error) {
	fa := &exposure.Factors{Walks: k.walks, Cells: k.cells, There: map[int32]float64{}}
	base := int32(p.Snapshot().Field.SourceCount())
	var live []*source
	words := false
	for _, s := range k.spoken {
		stands, err := s.Standing(now)
		if err != nil {
			return nil, nil, err
		}
		switch {
		case !stands.Live:
		case s.Mapped:
			words = true
			for _, i := range s.mapped {
				fa.There[i] = stands.Left()
			}
		default:
			fa.There[base+int32(len(live))] = stands.Presence
			live = append(live, s)
		}
	}
	if len(k.cells) == 0 && len(live) == 0 && !words {
		return k.on, nil, nil
	}
	if k.with == nil || !slices.Equal(live, k.live) {
		laid := make([]*exposure.Laid, len(live))
		for i, s := range live {
			if s.laid == nil {
				s.laid = p.Lay(s.made)
			}
			laid[i] = s.laid
		}
		k.with, k.live = k.on.WithLaid(laid), live
		k.weigh()
	}
	return k.with, fa, nil
}

// Sizes for bytes: rough, as only the sum is bounded.
const (
	emptyBytes  = 1 << 10 // of an account of which nothing is known
	cellBytes   = 64
	sourceBytes = 1 << 10
	cornerBytes = 16
	levelBytes  = 96
	touchBytes  = 64 // laid by its source, and again by edge
)

// weigh works out about how much memory it takes.
func (k *known) weigh() {
	n := cellBytes*len(k.cells) + levelBytes*k.bound
	for _, s := range k.spoken {
		n += sourceBytes
		for i := range s.made.Area {
			n += cornerBytes * len(s.made.Area[i].Outer)
		}
		if s.laid != nil {
			for i := range s.laid.Touches {
				n += touchBytes * (1 + len(s.laid.Touches[i]))
			}
		}
	}
	k.bytes = n
}
