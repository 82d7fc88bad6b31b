package beside

import (
	"math"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// CentreShops are the shops on an edge that make it a shopping street.
const CentreShops = 2

// OnBorderM is how near to the border of ground a place counts as on it and not inside:
// a street that the ground was drawn along.
const OnBorderM = 0.1

// PlaceKinds tells what kind of place each edge runs through, by the ground under
// its middle, its shops and its class.
func PlaceKinds(x *osmdata.Extract, g *network.Graph, shops []int32) []exposure.PlaceKind {
	grounds := newGrounds(x)
	out := make([]exposure.PlaceKind, g.EdgeCount())
	for e := range out {
		out[e] = grounds.kind(g.EdgeLine(int32(e)).At(float64(g.LengthM[e]) / 2))
		switch {
		case shops[e] >= CentreShops:
			out[e] = exposure.PlaceCentre
		case out[e] == exposure.PlaceOpen && (g.Class[e] == osmdata.Residential || g.Class[e] == osmdata.LivingStreet):
			out[e] = exposure.PlaceResidential
		}
	}
	return out
}

// grounds finds the ground at a point, by cells.
type grounds struct {
	list  []osmdata.Ground
	cells map[tile][]int32
}

const groundCellM = 250.0

// tile is a cell of groundCellM.
type tile struct{ x, y int32 }

func newGrounds(x *osmdata.Extract) *grounds {
	gs := &grounds{list: x.Grounds, cells: map[tile][]int32{}}
	for i := range x.Grounds {
		if placeOfGround(x.Grounds[i].Kind) == exposure.PlaceOpen {
			continue
		}
		box := x.Grounds[i].Area.Box()
		lo, hi := groundCell(box.Min), groundCell(box.Max)
		for cx := lo.x; cx <= hi.x; cx++ {
			for cy := lo.y; cy <= hi.y; cy++ {
				gs.cells[tile{cx, cy}] = append(gs.cells[tile{cx, cy}], int32(i))
			}
		}
	}
	return gs
}

func groundCell(p plane.Point) tile {
	return tile{int32(math.Floor(p.X / groundCellM)), int32(math.Floor(p.Y / groundCellM))}
}

func placeOfGround(k osmdata.GroundKind) exposure.PlaceKind {
	switch k {
	case osmdata.Park, osmdata.Cemetery:
		return exposure.PlacePark
	case osmdata.Wood:
		return exposure.PlaceWoods
	case osmdata.Residentials:
		return exposure.PlaceResidential
	case osmdata.Industrial:
		return exposure.PlaceIndustry
	case osmdata.Retail:
		return exposure.PlaceCentre
	}
	return exposure.PlaceOpen
}

// kind is the kind of place at a point: the first of park, woods, centre, industry
// and residential ground that it lies on.
func (gs *grounds) kind(p plane.Point) exposure.PlaceKind {
	order := [...]exposure.PlaceKind{exposure.PlacePark, exposure.PlaceWoods, exposure.PlaceCentre, exposure.PlaceIndustry, exposure.PlaceResidential}
	best := len(order)
	for _, i := range gs.cells[groundCell(p)] {
		for rank, k := range order[:best] {
			if placeOfGround(gs.list[i].Kind) == k && gs.list[i].Area.Holds(p, OnBorderM) {
				best = rank
				break
			}
		}
	}
	if best == len(order) {
		return exposure.PlaceOpen
	}
	return order[best]
}
