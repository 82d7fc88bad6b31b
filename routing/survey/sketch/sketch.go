// Package sketch has maps for tests of what is worked out from a map: small ones drawn
// with coordinates, the invented town, and whole states where long tests are asked for.
package sketch

import (
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// Map is a small map drawn with coordinates: streets join where they share a
// point.
type Map struct {
	X     osmdata.Extract
	nodes map[plane.Point]int64
}

func New() *Map { return &Map{nodes: map[plane.Point]int64{}} }

// Line makes a line of alternating x and y.
func Line(xy ...float64) plane.Polyline {
	var l plane.Polyline
	for i := 0; i+1 < len(xy); i += 2 {
		l = append(l, plane.Point{X: xy[i], Y: xy[i+1]})
	}
	return l
}

// Street adds a street for feet, and for motors if its class is one of roads.
func (k *Map) Street(c osmdata.Class, l plane.Polyline) *osmdata.Street {
	s := osmdata.Street{ID: int64(len(k.X.Streets) + 1), Class: c, Foot: true, Motor: c >= osmdata.Motorway && c <= osmdata.Service, Line: l}
	for _, p := range l {
		if k.nodes[p] == 0 {
			k.nodes[p] = int64(len(k.nodes) + 1)
		}
		s.Nodes = append(s.Nodes, k.nodes[p])
	}
	k.X.Streets = append(k.X.Streets, s)
	return &k.X.Streets[len(k.X.Streets)-1]
}

// Wall adds a building's wall, fence a fence.
func (k *Map) Wall(l plane.Polyline) {
	k.X.Obstacles = append(k.X.Obstacles, osmdata.Obstacle{Kind: osmdata.BuildingWall, Blocks: osmdata.BlocksWay | osmdata.BlocksView, Line: l})
}

func (k *Map) Fence(l plane.Polyline) {
	k.X.Obstacles = append(k.X.Obstacles, osmdata.Obstacle{Kind: osmdata.Fence, Blocks: osmdata.BlocksWay, Line: l})
}

// House adds a square house by its south-west corner.
func (k *Map) House(x, y, side float64) {
	k.Wall(Line(x, y, x+side, y, x+side, y+side, x, y+side, x, y))
}

func (k *Map) Ground(kind osmdata.GroundKind, x0, y0, x1, y1 float64) {
	k.X.Grounds = append(k.X.Grounds, osmdata.Ground{Kind: kind, Area: plane.Polygon{Outer: plane.Ring(Line(x0, y0, x1, y0, x1, y1, x0, y1))}})
}

// Net is the network of the streets.
func (k *Map) Net(t testing.TB) *network.Graph {
	t.Helper()
	g, _, err := network.Build(k.X.Streets, nil, network.Options{MinIslandM: -1, Frame: k.X.Frame})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// EdgeOf is the first edge with a part of a street.
func EdgeOf(t testing.TB, g *network.Graph, s *osmdata.Street) int32 {
	t.Helper()
	for e := range int32(g.EdgeCount()) {
		for _, p := range g.Parts[g.PartAt[e]:g.PartAt[e+1]] {
			if p.Street == s.ID {
				return e
			}
		}
	}
	t.Fatalf("street %d is not in the network", s.ID)
	return -1
}
