package training

import (
	"cmp"
	"math"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// Rules of places on open ground off the ways, from a measured prototype, our assumption.
const (
	latticeM  = 12.0 // such places are looked for so far apart
	leastOffM = 8.0  // nearer to a way one stands on it
	mostOffM  = 60.0 // over open ground from the nearest way
)

// offWay lists places on open ground within the band, off the ways, from where a view is
// seen. They lie on a lattice that hangs on the map, not on the view: the same place is
// found whoever looks.
func (s *scout) offWay(v *view, sieve *Sieve) (out []post) {
	if len(v.net.At) == 0 {
		return nil
	}
	lo, hi := s.lo*v.WorkingM, s.hi*v.WorkingM
	box, g := v.box().Grown(hi), s.groundOf(v)
	per := v.points()
	on := verticesByEdge(v)
	for y := math.Ceil(box.Min.Y/latticeM) * latticeM; y <= box.Max.Y; y += latticeM {
		for x := math.Ceil(box.Min.X/latticeM) * latticeM; x <= box.Max.X; x += latticeM {
			if !s.spend(per) {
				return out
			}
			at := plane.Point{X: x, Y: y}
			d, toward := v.nearest(at)
			if d < lo || d > hi || v.areas == nil && toward.DistanceM(v.At) > anchorNearM {
				continue
			}
			if c, ok := s.offPost(v, g, on, at, toward, d, sieve); ok {
				out = append(out, c)
			}
		}
	}
	return out
}

// offPost is the place off the ways at a point, false where one may not stand there,
// cannot come there from the nearest way, or sees nothing.
func (s *scout) offPost(v *view, g *grounds, on map[int32][]int32, at, toward plane.Point, distM float64, sieve *Sieve) (c post, ok bool) {
	if !s.spend(len(g.areas)) || !g.stand(at) {
		return c, false
	}
	place, near := s.p.Land().Snap.Graph.Near(at, mostOffM)
	if !near || place.DistM < leastOffM || len(on[place.Edge]) == 0 {
		return c, false
	}
	sieve.InBand++
	part := partAt(s.p, place.Edge, place.AlongM)
	c.Edge, c.OffM, c.WalkM = place.Edge, place.DistM, s.walkM(place.Edge, place.AlongM)+place.DistM
	if c.WalkM > s.reachM || part.Class.Main() || part.Flags&(osmdata.FlagBridge|osmdata.FlagTunnel) != 0 ||
		!s.p.Land().Snap.Ground.Index().Visible(at, place.At, uint8(osmdata.BlocksWay)) {
		return c, false
	}
	sieve.Standable++
	if !s.spend(sightPoints * (raySteps + int(distM))) {
		return c, false
	}
	if c.SightShare, c.Sees = s.see(v, at, toward, distM); c.SightShare < leastSightShare {
		return c, false
	}
	sieve.InSight++
	c.vertex = slices.MinFunc(on[place.Edge], func(a, b int32) int {
		return cmp.Compare(v.net.At[a].DistanceM(place.At), v.net.At[b].DistanceM(place.At))
	})
	c.arc, c.alongM, c.toward = v.net.First[c.vertex], place.AlongM, toward
	c.At, c.Watched, c.DistM, c.Multiple, c.RoomM = at, v.from(toward), distM, distM/v.WorkingM, openM
	c.Street = cmp.Or(s.p.Land().Snap.Graph.Names[part.Name], "the "+part.Sort())
	return c, true
}

// stand says that one may stand at a place off the ways: on ground that the map calls
// green, not only where it says nothing.
func (g *grounds) stand(p plane.Point) bool {
	water, open := g.at(p)
	return open && !water
}

// verticesByEdge lists the vertices of a view's net on each edge.
func verticesByEdge(v *view) map[int32][]int32 {
	out := map[int32][]int32{}
	for i := range v.net.At {
		for a := v.net.First[i]; a < v.net.First[i+1]; a++ {
			if e := v.net.Edge[a]; len(out[e]) == 0 || out[e][len(out[e])-1] != int32(i) {
				out[e] = append(out[e], int32(i))
			}
		}
	}
	return out
}

// termsAt lists what is met at rest at a place. Off the way the stream on it passes as far
// off as the way lies, or as one would have stepped aside on it; places are as far as they
// are; other ways are taken to be as far as from the nearest way.
func (s *scout) termsAt(c *Vantage, m hours.Moment) []exposure.Term {
	terms := s.terms(c.Edge, m)
	if c.OffM == 0 {
		return terms
	}
	if s.off.at == c.At && s.off.edge == c.Edge && s.off.when.Equal(m.Time) {
		return s.off.terms
	}
	out := slices.Clone(terms)
	for i := range out {
		t := &out[i]
		switch {
		case t.Own:
			t.Own, t.DistM = false, math.Max(c.OffM, t.DistM)
			t.P = s.dog.Need(t.Kind).P(t.DistM)
			t.HazardPerS = t.RatePerS * t.P
		case t.Source >= 0 && t.P > 0:
			d, _ := s.p.Land().Snap.Field.Source(t.Source).Nearest(c.At)
			p := s.dog.Need(t.Kind).P(d)
			t.DistM, t.HazardPerS, t.P = d, t.HazardPerS*p/t.P, p
		}
	}
	s.off = offTerms{c.At, c.Edge, m.Time, out}
	return out
}

// offTerms is what was listed last, as it is asked for again for every stay.
type offTerms struct {
	at    plane.Point
	edge  int32
	when  time.Time
	terms []exposure.Term
}
