package snapshot

import (
	"fmt"
	"math"

	"wideberth/exposure"
	"wideberth/exposure/strain"
	"wideberth/routing/network"
)

// edgeKey names an edge whatever map it was made from: the nodes at its ends and the ways
// that it begins and ends with, the lesser end first.
type edgeKey struct{ node, way, otherNode, otherWay int64 }

// keyOf gives the key of an edge, and whether its geometry runs from the greater end.
func keyOf(g *network.Graph, e int32) (k edgeKey, turned bool) {
	tail, head := g.Ends(e)
	first, last := &g.Parts[g.PartAt[e]], &g.Parts[g.PartAt[e+1]-1]
	k = edgeKey{g.VertexNode[tail], first.Street, g.VertexNode[head], last.Street}
	switch {
	case k.node != k.otherNode:
		turned = k.node > k.otherNode
	case k.way != k.otherWay:
		turned = k.way > k.otherWay
	default:
		turned = first.Reverse()
	}
	if turned {
		k = edgeKey{k.otherNode, k.otherWay, k.node, k.way}
	}
	return k, turned
}

// part is a map that has rows for edges of another.
type part struct {
	g       *network.Graph
	f       *exposure.Field
	edges   map[edgeKey][]int32
	sources []int32 // where each of its sources stands in the joined field, -1 for nowhere
}

func newPart(g *network.Graph, f *exposure.Field, where map[sourceKey]int32) *part {
	p := &part{g: g, f: f, edges: make(map[edgeKey][]int32, g.EdgeCount()), sources: make([]int32, len(f.Sources))}
	for e := range int32(g.EdgeCount()) {
		k, _ := keyOf(g, e)
		p.edges[k] = append(p.edges[k], e)
	}
	for i, k := range keysOf(f.Sources) {
		at, ok := where[k]
		if !ok {
			at = -1
		}
		p.sources[i] = at
	}
	return p
}

// sourceKey names a source whatever map it was made from.
type sourceKey struct {
	osm, as string
	nth     int // of several with one name
}

func keysOf(sources []exposure.Source) []sourceKey {
	seen := map[sourceKey]int{}
	out := make([]sourceKey, len(sources))
	for i := range sources {
		k := sourceKey{osm: sources[i].OSM, as: sources[i].As}
		out[i] = sourceKey{k.osm, k.as, seen[k]}
		seen[k]++
	}
	return out
}

// sameLength is how much the lengths of one edge differ on the planes of two maps, at
// most, as a share and in metres.
const (
	sameLengthShare = 0.002
	sameLengthM     = 0.05
)

// find gives the edge of the part that is edge e of g, and whether the two run against
// each other; -1 if it has none.
func (p *part) find(g *network.Graph, e int32) (at int32, against bool) {
	at = -1
	k, turned := keyOf(g, e)
	least := sameLengthM + sameLengthShare*float64(g.LengthM[e])
	for _, c := range p.edges[k] {
		if d := math.Abs(float64(p.g.LengthM[c] - g.LengthM[e])); d <= least {
			at, least = c, d
		}
	}
	if at < 0 {
		return at, false
	}
	_, other := keyOf(p.g, at)
	return at, turned != other
}

// joined is a field that is put together from rows of others.
type joined struct {
	g *network.Graph
	f *exposure.Field
}

// newJoined begins the field of a network with given sources.
func newJoined(g *network.Graph, sources []exposure.Source) *joined {
	n := g.EdgeCount()
	f := &exposure.Field{
		Left: make([]exposure.Side, n), Right: make([]exposure.Side, n), SightFwdM: make([]float32, n), SightBackM: make([]float32, n),
		LevelDB: make([]float32, n), Place: make([]exposure.PlaceKind, n), Marks: make([]exposure.Mark, n), SoftShare: make([]float32, n),
		TouchAt: make([]int32, 1, n+1), Sources: sources,
		Roadside: strain.Table{At: make([]int32, 1, n+1), Wide: make([]strain.Wide, n)},
	}
	for p := range f.OwnPerDay {
		f.OwnPerDay[p], f.Near[p] = make([]float32, n), make([][exposure.BinCount]exposure.Bin, n)
	}
	return &joined{g, f}
}

// take copies the row of edge at of a part; edges are taken in turn.
func (j *joined) take(e int32, p *part, at int32, against bool) {
	f, from := j.f, p.f
	for q := range f.OwnPerDay {
		f.OwnPerDay[q][e] = from.OwnPerDay[q][at]
		f.Near[q][e] = from.NearBins(exposure.Pattern(q), at)
	}
	sides := from.Sides(at, against)
	f.Left[e], f.Right[e], f.SightFwdM[e], f.SightBackM[e] = sides.Left, sides.Right, from.SightFwdM[at], from.SightBackM[at]
	wide := from.Roadside.WideOf(at)
	if against {
		f.SightFwdM[e], f.SightBackM[e] = f.SightBackM[e], f.SightFwdM[e]
		wide.Begin, wide.End = wide.End, wide.Begin
	}
	f.Roadside.Wide[e] = wide
	f.LevelDB[e], f.Place[e], f.Marks[e], f.SoftShare[e] = from.LevelDB[at], from.Place[at], from.Marks[at], from.SoftShare[at]
	f.Roadside.Stretches = append(f.Roadside.Stretches, from.Roadside.Of(at)...)
	f.Roadside.At = append(f.Roadside.At, int32(len(f.Roadside.Stretches)))
	for t := range from.TouchesOf(at) {
		if t.Source = p.sources[t.Source]; t.Source >= 0 {
			f.Touches = append(f.Touches, t)
		}
	}
	f.TouchAt = append(f.TouchAt, int32(len(f.Touches)))
}

// leave leaves the row of an edge empty that no part knows anything of; edges are left in
// turn with those that are taken.
func (j *joined) leave() {
	j.f.Roadside.At = append(j.f.Roadside.At, int32(len(j.f.Roadside.Stretches)))
	j.f.TouchAt = append(j.f.TouchAt, int32(len(j.f.Touches)))
}

// check holds the finished field against its invariants.
func (j *joined) check() error {
	if err := j.f.Check(); err != nil {
		return fmt.Errorf("join: %w", err)
	}
	return nil
}
