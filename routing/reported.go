package routing

import (
	"math"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// How far and how finely reported sources are looked at.
const (
	reportedReachM = exposure.BinMaxM
	reportedStepM  = 10
)

// Lay finds how the edges of the map lie to a source that people reported. It
// depends on the map only, so it holds as long as the source does.
func (p *Planner) Lay(s exposure.Source) *exposure.Laid {
	out := &exposure.Laid{Source: s}
	box := plane.Box{Min: s.At, Max: s.At}.Grown(float64(s.RadiusM))
	for _, a := range s.Area {
		box = box.Union(a.Box())
	}
	for _, e := range p.land.Snap.Graph.InBox(box.Grown(reportedReachM)) {
		if touches := p.touches(&s, e); len(touches) > 0 {
			out.Edges, out.Touches = append(out.Edges, e), append(out.Touches, touches)
		}
	}
	return out
}

// WithLaid is a planner that counts further sources, those that people reported,
// beside what the map has. It shares everything else with p, what it has in store
// for searches too.
func (p *Planner) WithLaid(extra []*exposure.Laid) *Planner {
	if len(extra) == 0 {
		return p
	}
	snap := *p.land.Snap
	snap.Field = p.land.Snap.Field.With(extra)
	land := *p.land
	land.Snap = &snap
	return p.on(&land)
}

// touches says how the parts of an edge in reach of a source lie to it, by distance
// bin and sight.
func (p *Planner) touches(s *exposure.Source, e int32) (out []exposure.Touch) {
	type cell struct {
		bin     int
		inSight bool
	}
	line := p.land.Snap.Graph.EdgeLine(e)
	n := max(2, int(math.Round(line.LengthM()/reportedStepM)))
	share := map[cell]exposure.Touch{}
	for k := range n {
		at := line.At(line.LengthM() * (float64(k) + .5) / float64(n))
		d, toward := s.Nearest(at)
		bin, ok := exposure.BinOf(d)
		if !ok {
			continue
		}
		c := cell{bin, d < 1 || p.land.Snap.Ground.Index().Visible(at, toward, uint8(osmdata.BlocksView))}
		t := share[c]
		t.InSight = c.inSight
		t.DistM += float32(d)
		t.Share++
		share[c] = t
	}
	for bin := range exposure.BinCount {
		for _, inSight := range [2]bool{true, false} {
			if t, ok := share[cell{bin, inSight}]; ok {
				t.DistM /= t.Share
				t.Share /= float32(n)
				if !inSight {
					t.DropDB = screenDropDB
				}
				out = append(out, t)
			}
		}
	}
	return out
}

// screenDropDB is what a building between takes from a sound (FHWA RCNM User
// Guide 2006, appendix A: solid full shielding 8 dB).
const screenDropDB = 8
