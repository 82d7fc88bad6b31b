package survey

import (
	"math"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// A pavement drawn beside its street is the street: whoever leaves a house there
// takes one or the other. All numbers are our assumption.
const (
	bundleM      = 18.0 // pavements farther from the street's line are ways of their own
	bundleCosine = 0.9  // least cosine between a pavement and its street
	bundleStepM  = 15.0
	bundleCellM  = 32
)

// bundles tells which share of each pavement runs beside which edge of a street.
type bundles struct {
	at     []int32 // shares of edge e are list[at[e]:at[e+1]]
	list   []alongside
	length []float64 // by street edge: its own metres and those of its pavements
}

type alongside struct {
	street int32
	share  float64 // of the pavement's length
}

func isPavement(g *network.Graph, e int32) bool { return g.Flags[e]&osmdata.FlagPavement != 0 }

// isRoad tells whether an edge is a street that has pavements.
func isRoad(g *network.Graph, e int32) bool {
	return g.Class[e] >= osmdata.Primary && g.Class[e] <= osmdata.Service && g.Flags[e]&(osmdata.FlagPavement|osmdata.FlagCrossing) == 0
}

// findBundles matches pavements with streets at places along each pavement: the
// nearest street within bundleM that runs the same way.
func findBundles(g *network.Graph) *bundles {
	b := &bundles{at: make([]int32, 1, g.EdgeCount()+1), length: make([]float64, g.EdgeCount())}
	var segs []plane.Segment
	for e := range int32(g.EdgeCount()) {
		b.length[e] = float64(g.LengthM[e])
		if !isRoad(g, e) {
			continue
		}
		line := g.EdgeLine(e)
		for k := 1; k < len(line); k++ {
			segs = append(segs, plane.Segment{A: line[k-1], B: line[k], ID: e, Mask: 1})
		}
	}
	index := plane.NewIndex(segs, bundleCellM)
	var found []int32
	for e := range int32(g.EdgeCount()) {
		if isPavement(g, e) {
			found = b.match(g, index, e, found)
		}
		b.at = append(b.at, int32(len(b.list)))
	}
	return b
}

// match adds the shares of one pavement.
func (b *bundles) match(g *network.Graph, index *plane.Index, e int32, found []int32) []int32 {
	first := len(b.list)
	long := float64(g.LengthM[e])
	n := max(1, int(math.Round(long/bundleStepM)))
	line := g.EdgeLine(e)
	for i := range n {
		along := (float64(i) + .5) * long / float64(n)
		p, dir := line.At(along), line.DirectionAt(along)
		found = index.Within(p, bundleM, 1, found[:0])
		street, nearest := int32(-1), math.Inf(1)
		for _, k := range found {
			s := index.Segment(k)
			at, _ := plane.NearestOnSegment(p, s.A, s.B)
			if d := at.DistanceM(p); d < nearest && math.Abs(unitOf(s.A, s.B).Dot(dir)) >= bundleCosine {
				street, nearest = s.ID, d
			}
		}
		if street >= 0 {
			b.add(first, street, 1/float64(n))
			b.length[street] += long / float64(n)
		}
	}
	return found
}

func (b *bundles) add(first int, street int32, share float64) {
	for i := first; i < len(b.list); i++ {
		if b.list[i].street == street {
			b.list[i].share += share
			return
		}
	}
	b.list = append(b.list, alongside{street, share})
}

// even gives the passes of each street and its pavements to all of them alike by
// length: passes times metres stay what they are.
func (b *bundles) even(g *network.Graph, passes []float64) {
	total := make([]float64, len(passes))
	for e := range passes {
		total[e] += passes[e] * float64(g.LengthM[e])
		for _, s := range b.list[b.at[e]:b.at[e+1]] {
			moved := s.share * passes[e] * float64(g.LengthM[e])
			total[s.street] += moved
			total[e] -= moved
		}
	}
	mean := make([]float64, len(passes)) // of a street's bundle
	for e := range mean {
		if isRoad(g, int32(e)) {
			mean[e] = total[e] / b.length[e]
		}
	}
	for e := range passes {
		switch {
		case isRoad(g, int32(e)):
			passes[e] = mean[e]
		case b.at[e] < b.at[e+1]:
			rest := max(0, total[e]) / float64(g.LengthM[e]) // of the stretches beside no street
			passes[e] = rest
			for _, s := range b.list[b.at[e]:b.at[e+1]] {
				passes[e] += s.share * mean[s.street]
			}
		}
	}
}
