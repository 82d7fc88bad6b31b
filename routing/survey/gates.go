package survey

import (
	"math"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey/trips"
)

// Gates: extracts with complete ways carry no sign of where their border cuts, so
// that ends of main roads and ends at the hull count too. Our assumption.
const (
	hullM        = 100.0  // an end so near to the map's hull is cut by it
	gateMostM    = 1000.0 // of border that one gate stands for
	gatesAlikeM  = 5000.0 // within which gates share what crosses the border
	straightness = 1.3    // way along streets over the bee line; usual in towns (common practice)
)

// gateWeight is how much of what crosses the border comes by a way of a class, 1 for
// a residential street; our assumption.
var gateWeight = [osmdata.ClassCount]float64{osmdata.ClassOther: 1, osmdata.Trunk: 3, osmdata.Primary: 3, osmdata.Secondary: 3,
	osmdata.Tertiary: 3, osmdata.Unclassified: 2, osmdata.Residential: 1, osmdata.LivingStreet: 1, osmdata.Service: .2,
	osmdata.Pedestrian: 1, osmdata.Track: .3, osmdata.Cycleway: 2, osmdata.Bridleway: .3, osmdata.Footway: .3, osmdata.Path: .3}

// findGates lists the vertices at which ways are cut by the border of the map, whose
// hull is given, in the order of vertices, with the weight of their class; their strips are set by
// openGates.
func findGates(g *network.Graph, hull plane.Hull) (gates []trips.Gate, weight []float64) {
	for v := range int32(len(g.Vertex)) {
		a := g.Star.First[v]
		if g.Star.First[v+1]-a != 1 {
			continue
		}
		e := g.ArcEdge[a]
		c := g.Class[e]
		if gateWeight[c] == 0 || !g.OpenEdge[e] && !isMain(c, osmdata.Tertiary) && hull.DepthM(g.Vertex[v]) > hullM {
			continue
		}
		line := g.EdgeLine(e)
		out := unitOf(line[len(line)-2], line[len(line)-1])
		if g.EdgeArc[e] == a { // the edge begins here
			out = unitOf(line[1], line[0])
		}
		gates, weight = append(gates, trips.Gate{Vertex: v, Out: out}), append(weight, gateWeight[c])
	}
	return gates, weight
}

// openGates gives each gate its strip: as wide as half the way to its two
// neighbours each side, as deep as trips reach, as thick with pull and origin as
// the ground about it, by its class among the gates within gatesAlikeM. Land about a convex map widens with the distance x from its
// border, perimeter + 2 pi x: with exp(-x/depth) that is 1 + 2 pi depth/perimeter
// times the strip. depth is in metres of bee line, at a place; densities are by m2 at a place,
// borderM is the length of the map's border.
func openGates(g *network.Graph, gates []trips.Gate, weight []float64, depthM func(plane.Point) float64, borderM float64, pullM2, originM2 func(plane.Point) float64) {
	at := make([]plane.Segment, len(gates))
	for i := range gates {
		p := g.Vertex[gates[i].Vertex]
		at[i] = plane.Segment{A: p, B: p, ID: int32(i), Mask: 1}
	}
	others := plane.NewIndex(at, gateMostM)
	var near []int32
	for i := range gates {
		at := g.Vertex[gates[i].Vertex]
		depth := depthM(at)
		near = others.Within(at, gatesAlikeM, 1, near[:0])
		mean := 0.0
		for _, k := range near {
			mean += weight[others.Segment(k).ID] / float64(len(near))
		}
		strip := gateWidth(g, gates, i, others, near) * depth * weight[i] / mean
		pull := pullM2(at)
		gates[i].Pull, gates[i].Origin, gates[i].Widen = strip*pull, strip*originM2(at), 1+2*math.Pi*depth/max(depth, borderM)
		gates[i].Plane = 2 * math.Pi * depth * depth * pull
		if gates[i].Plane == 0 {
			gates[i].Origin, gates[i].Plane = 0, 1
		}
	}
}

// gateWidth is the mean distance to the two nearest other gates, of those near it.
func gateWidth(g *network.Graph, gates []trips.Gate, i int, all *plane.Index, near []int32) float64 {
	least := [2]float64{gateMostM, gateMostM}
	for _, k := range near {
		if all.Segment(k).ID == int32(i) {
			continue
		}
		d := g.Vertex[gates[i].Vertex].DistanceM(all.Segment(k).A)
		if d < least[0] {
			least[0], least[1] = d, least[0]
		} else if d < least[1] {
			least[1] = d
		}
	}
	return (least[0] + least[1]) / 2
}

// Where the border of the map matters; our assumption.
const (
	cutM     = 1000.0 // to the nearest gate: about half a usual trip by bicycle
	cutShare = 0.5    // of what residents ride, below which the whole map is cut
)

// markCut marks the edges whose wheels and motors come from beyond the border of the
// map: those near a gate, and all of a map so small that its people's rides lie
// outside.
func (a *assignment) markCut(g *network.Graph, marks []exposure.Mark) {
	if a.riders == nil {
		return
	}
	all := a.totals["bicycle km"] < cutShare*a.totals["bicycle km of residents"]
	var at []plane.Segment
	for i := range a.riders.gates {
		p := a.riders.g.Vertex[a.riders.gates[i].Vertex]
		at = append(at, plane.Segment{A: p, B: p, Mask: 1})
	}
	near := plane.NewIndex(at, cutM)
	for e := range marks {
		if _, ok := near.Nearest(g.EdgeLine(int32(e)).At(float64(g.LengthM[e])/2), cutM, 1); all || ok {
			marks[e] |= exposure.CutCatchment
		}
	}
}
