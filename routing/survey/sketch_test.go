package survey

import (
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// sketch is a small map drawn with coordinates: streets join where they share a
// point.
type sketch struct {
	x     osmdata.Extract
	nodes map[plane.Point]int64
}

func newSketch() *sketch { return &sketch{nodes: map[plane.Point]int64{}} }

// pts makes a line of alternating x and y.
func pts(xy ...float64) plane.Polyline {
	var l plane.Polyline
	for i := 0; i+1 < len(xy); i += 2 {
		l = append(l, plane.Point{X: xy[i], Y: xy[i+1]})
	}
	return l
}

// street adds a street for feet, and for motors if its class is one of roads.
func (k *sketch) street(c osmdata.Class, l plane.Polyline) *osmdata.Street {
	s := osmdata.Street{ID: int64(len(k.x.Streets) + 1), Class: c, Foot: true, Motor: c >= osmdata.Motorway && c <= osmdata.Service, Line: l}
	for _, p := range l {
		if k.nodes[p] == 0 {
			k.nodes[p] = int64(len(k.nodes) + 1)
		}
		s.Nodes = append(s.Nodes, k.nodes[p])
	}
	k.x.Streets = append(k.x.Streets, s)
	return &k.x.Streets[len(k.x.Streets)-1]
}

// wall adds a building's wall, fence a fence.
func (k *sketch) wall(l plane.Polyline) {
	k.x.Obstacles = append(k.x.Obstacles, osmdata.Obstacle{Kind: osmdata.BuildingWall, Blocks: osmdata.BlocksWay | osmdata.BlocksView, Line: l})
}

func (k *sketch) fence(l plane.Polyline) {
	k.x.Obstacles = append(k.x.Obstacles, osmdata.Obstacle{Kind: osmdata.Fence, Blocks: osmdata.BlocksWay, Line: l})
}

// house adds a square house by its south-west corner.
func (k *sketch) house(x, y, side float64) {
	k.wall(pts(x, y, x+side, y, x+side, y+side, x, y+side, x, y))
}

func (k *sketch) ground(kind osmdata.GroundKind, x0, y0, x1, y1 float64) {
	k.x.Grounds = append(k.x.Grounds, osmdata.Ground{Kind: kind, Area: plane.Polygon{Outer: plane.Ring(pts(x0, y0, x1, y0, x1, y1, x0, y1))}})
}

// net is the network of the streets.
func (k *sketch) net(t testing.TB) *network.Graph {
	t.Helper()
	g, _, err := network.Build(k.x.Streets, nil, network.Options{MinIslandM: -1})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// edgeOf is the first edge with a part of a street.
func edgeOf(t testing.TB, g *network.Graph, s *osmdata.Street) int32 {
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
