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

// WithSources is a planner that counts further sources, those that people
// reported, beside what the map has. It shares everything else with p.
func (p *Planner) WithSources(extra []exposure.Source) *Planner {
	if len(extra) == 0 {
		return p
	}
	touches := map[int32][]exposure.Touch{}
	for i := range extra {
		p.touch(&extra[i], int32(i), touches)
	}
	snap := *p.land.Snap
	snap.Field = p.land.Snap.Field.With(extra, touches)
	land := *p.land
	land.Snap = &snap
	return &Planner{&land}
}

// touch notes the edges that lie in reach of a source, by distance bin and sight.
func (p *Planner) touch(s *exposure.Source, id int32, touches map[int32][]exposure.Touch) {
	box := plane.Box{Min: s.At, Max: s.At}.Grown(float64(s.RadiusM))
	for _, a := range s.Area {
		box = box.Union(a.Box())
	}
	type cell struct {
		bin     int
		inSight bool
	}
	for _, e := range p.land.Snap.Graph.InBox(box.Grown(reportedReachM)) {
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
			c := cell{bin, p.land.Snap.Ground.Index().Visible(at, toward, uint8(osmdata.BlocksView)) || d < 1}
			t := share[c]
			t.Source, t.InSight = id, c.inSight
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
					touches[e] = append(touches[e], t)
				}
			}
		}
	}
}

// screenDropDB is what a building between takes from a sound (FHWA RCNM User
// Guide 2006, appendix A: solid full shielding 8 dB).
const screenDropDB = 8
