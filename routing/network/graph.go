// Package network turns streets into the graph that walks run on: split where
// streets meet, small islands dropped, chains contracted without losing their
// geometry, parallel edges and loops kept, packed into flat arrays for the
// searches.
package network

import (
	"sync"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/search"
)

// Graph is the walkable network. An edge is an undirected piece of way between
// two vertices; it has two arcs, one for each direction. Immutable once built;
// may be shared between goroutines.
//
// Slices by vertex: Vertex, VertexNode. By arc, in forward-star order: the three
// slices of Star, and ArcEdge. By edge: the rest. An arc a runs with the
// geometry of its edge e exactly if EdgeArc[e] == a, else against it.
type Graph struct {
	Star       search.Graph
	Vertex     []plane.Point // where each vertex lies
	VertexNode []int64       // its OSM node id
	ArcEdge    []int32       // the edge that an arc walks

	EdgeArc  []int32               // the arc that runs with the edge's geometry
	LengthM  []float32             // length of the edge on the ground
	Class    []osmdata.Class       // that of the longest run of the edge
	Flags    []osmdata.StreetFlags // union of the flags of the edge's parts
	LineAt   []int32               // points of edge e are Line[LineAt[e]:LineAt[e+1]], tail vertex first
	Line     []plane.Point
	PartAt   []int32 // parts of edge e are Parts[PartAt[e]:PartAt[e+1]], in order of its geometry
	Parts    []Part
	Names    []string // names that parts point to; Names[0] is ""
	OpenEdge []bool   // the edge is cut by the border of the extract

	indexOnce sync.Once // guards the making of index
	index     *plane.Index
}

// Part is the run of one street along an edge: its attributes hold from FromM to
// the next part's FromM or the edge's end.
type Part struct {
	Street   int64   // OSM way id
	FromM    float32 // metres from the edge's beginning
	StreetM  float32 // where that is along the way, in metres from the way's first node
	Name     int32   // index into Names
	Class    osmdata.Class
	Reverse  bool // the edge runs against the way's drawing direction
	Flags    osmdata.StreetFlags
	WidthM   float32
	SpeedMPS float32
	Lanes    float32
}

// EdgeLine is the geometry of edge e from its tail vertex to its head; the slice
// is shared and must not be changed.
func (g *Graph) EdgeLine(e int32) plane.Polyline {
	return plane.Polyline(g.Line[g.LineAt[e]:g.LineAt[e+1]:g.LineAt[e+1]]) // whoever appends gets a copy
}

// EdgeCount is the number of edges.
func (g *Graph) EdgeCount() int { return len(g.EdgeArc) }

// Ends gives the vertices at the beginning and the end of an edge's geometry.
func (g *Graph) Ends(e int32) (tail, head int32) {
	a := g.EdgeArc[e]
	return g.Star.Head[g.Star.Twin[a]], g.Star.Head[a]
}
