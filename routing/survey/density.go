package survey

import (
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// density is how thick homes lie on the ground, by squares of tileM.
type density struct {
	homes   map[square]float64 // dwellings by square
	streets map[square]bool    // squares with streets: ground that is not water or wood
	perKM2  map[square]float64 // what was asked for before
}

// densityBlock is how many squares to a side the density about a place is taken
// over: 2.5 km, the reach of a suburb.
const densityBlock = 5

const tileKM2 = tileM * tileM / 1e6

func (h *homes) newDensity(x *osmdata.Extract) density {
	d := density{map[square]float64{}, map[square]bool{}, map[square]float64{}}
	for i := range h.list {
		d.homes[h.tile(h.list[i].at)] += h.list[i].houses + h.list[i].flats
	}
	const stepM = 100
	for i := range x.Streets {
		s := &x.Streets[i]
		if s.Class < osmdata.Motorway || s.Class > osmdata.Service {
			continue
		}
		for along, long := 0.0, s.Line.LengthM(); along < long; along += stepM {
			d.streets[h.tile(s.Line.At(min(long, along+stepM/2)))] = true
		}
	}
	return d
}

// dwellingsPerKM2 is the density about a place: over the squares with streets of
// the block about it; 0 where there are none.
func (h *homes) dwellingsPerKM2(p plane.Point) float64 {
	here := h.tile(p)
	if known, ok := h.perKM2[here]; ok {
		return known
	}
	sum, km2 := 0.0, 0.0
	for _, t := range h.earth.around(here, tileM, densityBlock) {
		if h.streets[t] {
			sum += h.density.homes[t]
			km2 += tileKM2
		}
	}
	if km2 > 0 {
		sum /= km2
	}
	h.perKM2[here] = sum
	return sum
}
