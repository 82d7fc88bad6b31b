package homes

import (
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// gardenM is how far from the middle of a house its own fence may stand, in metres: half
// a house and a garden of 30 m. Farther ones are those of fields and roads. Our
// assumption.
const gardenM = 40.0

// Gardens are places behind which a home's dog may stand, each of one building.
type Gardens struct {
	At   []plane.Point // on the fence, wall or hedge
	Dogs []float64     // that are kept there: dwellings with a dog
}

// Gardens finds the homes in houses with a fence, wall or hedge between them and their
// street, where so many of a household keep a dog. A home counts once, at the barrier
// nearest to it on the straight line to its street, whatever else of the barrier lies
// beside ways; homes that are no building on the map, and flats, count nowhere.
func (h *Homes) Gardens(x *osmdata.Extract, dogHomes float64) (out Gardens) {
	const cellM = 32
	var segs []plane.Segment
	for i := range x.Obstacles {
		o := &x.Obstacles[i]
		if o.Kind != osmdata.Fence && o.Kind != osmdata.Wall && o.Kind != osmdata.Hedge {
			continue
		}
		for k := 1; k < len(o.Line); k++ {
			segs = append(segs, plane.Segment{A: o.Line[k-1], B: o.Line[k], Mask: 1})
		}
	}
	barriers := plane.NewIndex(segs, cellM)
	for i := range h.list[h.fromStreet:] {
		hm := &h.list[h.fromStreet+i]
		if hm.houses == 0 {
			continue
		}
		if hit, ok := barriers.FirstHit(hm.built, hm.at, 1); ok && hit.DistM <= gardenM {
			out.At = append(out.At, hit.At)
			out.Dogs = append(out.Dogs, hm.houses*dogHomes)
		}
	}
	return out
}
