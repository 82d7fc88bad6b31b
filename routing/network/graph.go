// Package network turns streets into the graph that walks run on: split where
// streets meet, small islands dropped, chains contracted without losing their
// geometry, parallel edges and loops kept, packed into flat arrays for the
// searches.
package network

import (
	"math"
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
	LineAt   []int32               // points of edge e are Line[LineAt[e]:LineAt[e+1]], tail vertex first; see EdgeLine
	Line     []plane.Point
	PartAt   []int32 // parts of edge e are Parts[PartAt[e]:PartAt[e+1]], in order of its geometry
	Parts    []Part
	Names    []string // names that parts point to; Names[0] is ""
	OpenEdge []bool   // the edge is cut by the border of the extract

	bends     *bends    // the lines of a graph that lies in a file, in place of Line and LineAt
	boxesOnce sync.Once // guards the making of boxes
	boxes     *plane.Boxes
	waysOnce  sync.Once // guards the making of ways
	ways      *WayParts
}

// Part is the run of one street along an edge: its attributes hold from FromM to
// the next part's FromM or the edge's end. It lies in a file as in memory.
type Part struct {
	Street   int64   // OSM way id
	FromM    float32 // metres from the edge's beginning
	StreetM  float32 // where that is along the way, in metres from the way's first node
	SpeedMPS float32 // 0 where not known
	Name     int32   // index into Names
	Flags    osmdata.StreetFlags
	WidthCM  uint16 // 0 where not known
	Class    osmdata.Class
	Run      Run
}

// WidthM is the width of the street, 0 where not known.
func (part *Part) WidthM() float32 { return float32(part.WidthCM) / cmPerM }

// Reverse tells that the edge runs against the way's drawing direction.
func (part *Part) Reverse() bool { return part.Run&1 != 0 }

// Lanes is the number of lanes of the street, 0 where not known.
func (part *Part) Lanes() float32 { return float32(part.Run>>1) / 2 }

// Run is how an edge runs along a street: bit 0 is set where it runs against the way,
// the others are half lanes.
type Run uint8

func runOf(reverse bool, lanes float32) Run {
	return Run(byteOf(reverse)) | Run(math.Round(max(0, min(math.MaxInt8, 2*float64(lanes)))))<<1
}

const cmPerM = 100

func widthCM(m float32) uint16 {
	return uint16(math.Round(max(0, min(math.MaxUint16, cmPerM*float64(m)))))
}

// bends are the lines of a graph between their ends, packed: those of edge e are
// packed[at[e]:at[e+1]], from its tail vertex on. They are not checked when the file is
// opened; whatever lies there, it leads from vertex to vertex over the map's ground.
type bends struct {
	at     []uint32
	packed []byte
	ground plane.Extent
}

// EdgeLine is the geometry of edge e from its tail vertex to its head; the slice
// may be shared and must not be changed.
func (g *Graph) EdgeLine(e int32) plane.Polyline {
	if b := g.bends; b != nil {
		return g.AppendLine(make(plane.Polyline, 0, 2+plane.Points(b.packed[b.at[e]:b.at[e+1]])), e)
	}
	return plane.Polyline(g.Line[g.LineAt[e]:g.LineAt[e+1]:g.LineAt[e+1]]) // whoever appends gets a copy
}

// AppendLine appends that geometry to dst, for who looks at many edges.
func (g *Graph) AppendLine(dst []plane.Point, e int32) plane.Polyline {
	b := g.bends
	if b == nil {
		return append(dst, g.Line[g.LineAt[e]:g.LineAt[e+1]]...)
	}
	tail, head := g.Ends(e)
	dst = append(dst, g.Vertex[tail])
	dst = b.ground.Unpack(dst, b.packed[b.at[e]:b.at[e+1]], plane.Rounded(g.Vertex[tail]))
	return append(dst, g.Vertex[head])
}

// EdgeCount is the number of edges.
func (g *Graph) EdgeCount() int { return len(g.EdgeArc) }

// Ends gives the vertices at the beginning and the end of an edge's geometry.
func (g *Graph) Ends(e int32) (tail, head int32) {
	a := g.EdgeArc[e]
	return g.Star.Head[g.Star.Twin[a]], g.Star.Head[a]
}
