// Package parking finds where a stranger may leave a car to walk from, and what to
// call each such place: public car parks, and the side of small roads where a way
// leads into a park or wood. It hides which of those near each other are one, and how
// two of one name are told apart.
package parking

import (
	"math"
	"slices"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/drive"
	"wideberth/routing/network"
	"wideberth/routing/snapshot"
)

// How spots are found, all of it our assumption.
const (
	mergeM      = 250 // nearer to each other than this, spots are one
	accessM     = 60  // from where the car stands to a way, and from open ground to a road
	kerbM       = 150 // from a car park to a road
	leastAreaM2 = 2e4 // open ground worth driving to
	gateM       = 800 // between two ways into one ground that are spots of their own
)

// Sort is what sort of spot it is.
type Sort uint8

// The sorts, in the order in which one is kept of several near each other.
const (
	Public   Sort = iota // a car park that tags open to anybody
	Lot                  // a car park of which nothing says whose it is
	Roadside             // at the side of a small road, where a way leads into open ground
)

// Spot is a place to leave a car and walk from.
type Spot struct {
	Sort  Sort
	Name  Name
	Start network.Place // where the walk begins
	Kerb  drive.Kerb    // where the drive ends
}

// Find lists the spots of a map, in an order that depends on the map alone. No two are
// near each other, and no two have one name.
func Find(snap *snapshot.Snapshot) []Spot {
	f := &finder{snap: snap, cells: map[[2]int32][]int32{}, green: newGreen(snap)}
	worth := func(l *snapshot.CarPark) (rank int) {
		switch {
		case l.Public:
			rank = 2
		case telling(l.Name) || f.green.beside(l.At):
			rank = 1
		}
		return rank
	}
	lots, rank := make([]int, len(snap.Ground.CarParks)), make([]int, len(snap.Ground.CarParks))
	for i := range lots {
		lots[i], rank[i] = i, worth(&snap.Ground.CarParks[i])
	}
	slices.SortStableFunc(lots, func(a, b int) int { return rank[b] - rank[a] })
	for _, i := range lots {
		l := &snap.Ground.CarParks[i]
		sort := Lot
		if l.Public {
			sort = Public
		}
		f.add(sort, l.Name, l.At, kerbM)
	}
	f.roadsides()
	name(snap, f.green, f.spots, f.own)
	return f.spots
}

// finder collects spots.
type finder struct {
	snap  *snapshot.Snapshot
	spots []Spot
	own   []string // names that the map has for them
	cells map[[2]int32][]int32
	green *green
}

// add takes a place as a spot, unless there is one near, or no way or road.
func (f *finder) add(sort Sort, own string, at plane.Point, toRoadM float64) {
	start, ok := f.snap.Graph.Near(at, accessM)
	if !ok || f.closed(sort, start) || f.taken(start.At) {
		return
	}
	kerb, ok := f.snap.Roads.Kerb(at, toRoadM)
	if !ok {
		return
	}
	c := cell(start.At)
	f.cells[c] = append(f.cells[c], int32(len(f.spots)))
	f.spots, f.own = append(f.spots, Spot{Sort: sort, Start: start, Kerb: kerb}), append(f.own, own)
}

// closed says that a walk cannot begin at a place: on a drive, on a way through a
// building or, where no tag opens a car park, on ground with rules of its own or
// among homes, whose it then is, unless open ground is right beside.
func (f *finder) closed(sort Sort, at network.Place) bool {
	marks := f.snap.Field.Marks[at.Edge]
	switch {
	case f.snap.Graph.Flags[at.Edge]&osmdata.FlagDrive != 0 || marks&exposure.Indoors != 0:
		return true
	case sort != Lot:
		return false
	}
	return marks&exposure.Precinct != 0 || f.snap.Field.Place[at.Edge] == exposure.PlaceResidential && !f.green.beside(at.At)
}

func cell(p plane.Point) [2]int32 {
	return [2]int32{int32(math.Floor(p.X / mergeM)), int32(math.Floor(p.Y / mergeM))}
}

// taken says that a spot is near.
func (f *finder) taken(at plane.Point) bool {
	c := cell(at)
	for dx := int32(-1); dx <= 1; dx++ {
		for dy := int32(-1); dy <= 1; dy++ {
			for _, i := range f.cells[[2]int32{c[0] + dx, c[1] + dy}] {
				if f.spots[i].Start.At.DistanceM(at) < mergeM {
					return true
				}
			}
		}
	}
	return false
}

// roadsides adds where ways for feet lead from small roads into parks and woods.
func (f *finder) roadsides() {
	grounds := f.snap.Ground.AllGrounds()
	for i := range grounds {
		g := &grounds[i]
		if g.Kind != osmdata.Park && g.Kind != osmdata.Wood || g.Area.AreaM2() < leastAreaM2 {
			continue
		}
		var gates []plane.Point
		for _, e := range f.snap.Graph.InBox(g.Area.Box().Grown(accessM)) {
			at, ok := f.gate(g, e)
			if ok && !slices.ContainsFunc(gates, func(p plane.Point) bool { return p.DistanceM(at) < gateM }) {
				gates = append(gates, at)
				f.add(Roadside, "", at, accessM)
			}
		}
	}
}

// gate is the end of a way for feet at which it meets a small road; the other end lies
// in the ground.
func (f *finder) gate(g *osmdata.Ground, e int32) (plane.Point, bool) {
	graph := f.snap.Graph
	if c := graph.Class[e]; c < osmdata.Pedestrian || c == osmdata.Steps || f.snap.Field.Marks[e]&(exposure.Indoors|exposure.Precinct) != 0 {
		return plane.Point{}, false
	}
	line, a := graph.EdgeLine(e), graph.EdgeArc[e]
	for _, end := range [2]struct {
		vertex int32
		far    plane.Point
	}{{graph.Star.Head[graph.Star.Twin[a]], line[len(line)-1]}, {graph.Star.Head[a], line[0]}} {
		at := graph.Vertex[end.vertex]
		if f.small(end.vertex) && g.Area.DistanceM(at) < accessM && g.Area.Contains(end.far) {
			return at, true
		}
	}
	return plane.Point{}, false
}

// small says that a road on which a car can be left at the side leads to a vertex.
func (f *finder) small(v int32) bool {
	g := f.snap.Graph
	for a := g.Star.First[v]; a < g.Star.First[v+1]; a++ {
		switch e := g.ArcEdge[a]; g.Class[e] {
		case osmdata.Residential, osmdata.Unclassified, osmdata.LivingStreet, osmdata.Tertiary:
			if g.Flags[e]&(osmdata.FlagBridge|osmdata.FlagTunnel|osmdata.FlagByLeave) == 0 {
				return true
			}
		}
	}
	return false
}
