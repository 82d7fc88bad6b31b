package homes

import (
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// density is how thick homes lie on the ground, by squares of tileM.
type density struct {
	homes   map[plane.Square]float64 // dwellings by square
	streets map[plane.Square]bool    // squares with streets: ground that is not water or wood
	perKM2  map[plane.Square]float64 // what was asked for before
}

// densityBlock is how many squares to a side the density about a place is taken
// over: 2.5 km, the reach of a suburb.
const densityBlock = 5

const tileKM2 = tileM * tileM / 1e6

func (h *Homes) newDensity(x *osmdata.Extract) density {
	d := density{map[plane.Square]float64{}, map[plane.Square]bool{}, map[plane.Square]float64{}}
	for i := range h.list {
		d.homes[h.Tile(h.list[i].at)] += h.list[i].houses + h.list[i].flats
	}
	const stepM = 100
	for i := range x.Streets {
		s := &x.Streets[i]
		if s.Class < osmdata.Motorway || s.Class > osmdata.Service {
			continue
		}
		for along, long := 0.0, s.Line.LengthM(); along < long; along += stepM {
			d.streets[h.Tile(s.Line.At(min(long, along+stepM/2)))] = true
		}
	}
	return d
}

// Land tells whether streets run through the square of a place: blocks are made of such
// squares.
func (h *Homes) Land(p plane.Point) bool { return h.streets[h.Tile(p)] }

// DwellingsPerKM2 is the density about a place: over the squares with streets of
// the block about it; 0 where there are none.
func (h *Homes) DwellingsPerKM2(p plane.Point) float64 {
	here := h.Tile(p)
	if known, ok := h.perKM2[here]; ok {
		return known
	}
	sum, km2 := 0.0, 0.0
	for _, t := range h.Earth.Around(here, tileM, densityBlock) {
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

// Spread is a quantity as a density over the ground.
type Spread struct {
	h  *Homes
	By map[plane.Square]float64
}

// Spread spreads a quantity by place over the ground; none gives one to add to.
func (h *Homes) Spread(at []plane.Point, quantity []float64) Spread {
	s := Spread{h, map[plane.Square]float64{}}
	for i, q := range quantity {
		if q != 0 {
			s.Add(at[i], q)
		}
	}
	return s
}

// Add adds so much at a place.
func (s Spread) Add(at plane.Point, n float64) { s.By[s.h.Tile(at)] += n }

// PerM2 is the density about a place, over the squares with streets of the block
// about it.
func (s Spread) PerM2(p plane.Point) float64 {
	sum, km2 := s.Block(p)
	if km2 == 0 {
		return 0
	}
	return sum / (km2 * 1e6)
}

// Block is the sum over the block of squares about a place, and the land in it.
func (s Spread) Block(p plane.Point) (sum, km2 float64) {
	for _, t := range s.h.Earth.Around(s.h.Tile(p), tileM, densityBlock) {
		if s.h.streets[t] {
			sum += s.By[t]
			km2 += tileKM2
		}
	}
	return sum, km2
}
