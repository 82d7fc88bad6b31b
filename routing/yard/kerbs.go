package yard

import (
	"math"
	"slices"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// Places to stop at beside open ground that has no car park (our assumptions).
const (
	leastAreaM2 = 6000.0 // lines of twice 40 m have room
	kerbOffM    = 60.0   // from the ground's outline to the street
	kerbApartM  = 200.0  // between places for a car
	outlineM    = 25.0   // between points of an outline that are looked at
)

// Kerbs are places at streets beside ground that is open to everybody where a car can
// stop, none near another place for a car.
func (g *Ground) Kerbs(cars []plane.Point) (out []plane.Point) {
	taken := map[[2]int32][]plane.Point{}
	cell := func(p plane.Point) [2]int32 {
		return [2]int32{int32(math.Floor(p.X / kerbApartM)), int32(math.Floor(p.Y / kerbApartM))}
	}
	take := func(p plane.Point) { taken[cell(p)] = append(taken[cell(p)], p) }
	free := func(p plane.Point) bool {
		c := cell(p)
		for dx := int32(-1); dx <= 1; dx++ {
			for dy := int32(-1); dy <= 1; dy++ {
				if slices.ContainsFunc(taken[[2]int32{c[0] + dx, c[1] + dy}], func(q plane.Point) bool { return q.DistanceM(p) < kerbApartM }) {
					return false
				}
			}
		}
		return true
	}
	for _, p := range cars {
		take(p)
	}
	for i := range g.Areas {
		a := &g.Areas[i]
		if a.Standing != osmdata.StandingPublic || a.Area.AreaM2() < leastAreaM2 {
			continue
		}
		rim := plane.Polyline(append(a.Area.Outer[:len(a.Area.Outer):len(a.Area.Outer)], a.Area.Outer[0]))
		for m, long := 0.0, rim.LengthM(); m < long; m += outlineM {
			p, near := g.Network.Near(rim.At(m), kerbOffM)
			if near && free(p.At) && Stoppable(g.Network.Class[p.Edge], g.Network.Flags[p.Edge]) {
				take(p.At)
				out = append(out, p.At)
			}
		}
	}
	return out
}

// Stoppable says that a car can usually be left at the side of such a street.
func Stoppable(class osmdata.Class, flags osmdata.StreetFlags) bool {
	if flags&(osmdata.FlagBridge|osmdata.FlagTunnel|osmdata.FlagLink) != 0 {
		return false
	}
	switch class {
	case osmdata.Residential, osmdata.Unclassified, osmdata.LivingStreet, osmdata.Service, osmdata.Tertiary:
		return true
	}
	return false
}
