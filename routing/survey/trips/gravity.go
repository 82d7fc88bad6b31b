package trips

import (
	"context"
	"math"

	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/search"
)

// Trips between homes and whatever draws people, along least-cost paths. A trip
// from v goes to the destination r with a chance in proportion to
//
//	pull(r) exp(-cost(v, r)/lambda)
//
// (Wilson 1967, Transportation Research 1:253-269, held at the origins), so that
// each home keeps its trips whatever is mapped. On even ground without a network
// the mean cost is 2 lambda.
const (
	reachLambdas = 4.5  // what lies farther off draws 1 % of what is near
	CostSets     = 16   // sets of costs that differ at random: with four the order of streets is luck, with 48 it is no better
	costLow      = 0.75 // people do not know the least cost, nor agree on it; our assumption
	costHigh     = 1.25
)

// Gravity is one assignment of trips.
type Gravity struct {
	G       *network.Graph
	Router  *search.Router
	Costs   [][]float32 // sets of costs by arc, in generalised metres
	LambdaM float64     // cost at which what pulls is down to 1/e
	Origin  []float64   // by vertex: trips a day
	Pull    []float64   // by vertex
	Gates   []Gate      // where the map's border cuts what people would go to
	ZoneM   float64     // side of the squares whose destinations are gathered at one
	Seed    uint64      // of the draws of cost sets by target
	Workers int         // goroutines; the result does not depend on it
	Tick    func(int)   // told how many targets were done, from any of them
}

// Sent is what came of an assignment.
type Sent struct {
	Passes  []float64 // by edge
	Arrived []float64 // by vertex, from inside and outside
	Trips   float64   // from inside
	Lost    float64   // of origins that nothing draws
	Inward  float64   // from outside to inside
	Through float64   // from outside to outside
	Outward float64   // from inside to outside
}

// Perturbed makes the sets of costs of a base cost by arc: each edge has one factor
// a set for both directions, by the nodes at its ends.
func Perturbed(g *network.Graph, base []float32, sets int, seed uint64) [][]float32 {
	out := make([][]float32, sets)
	for k := range out {
		out[k] = make([]float32, len(base))
	}
	for e := range int32(g.EdgeCount()) {
		tail, head := g.Ends(e)
		a := g.EdgeArc[e]
		b := g.Star.Twin[a]
		for k := range out {
			f := float32(costLow + (costHigh-costLow)*Chance(g.VertexNode[tail], g.VertexNode[head], k, saltRoute, seed))
			out[k][a], out[k][b] = base[a]*f, base[b]*f
		}
	}
	return out
}

// target is where trips go to: the root of a zone, or a gate.
type target struct {
	vertex int32
	pull   float64
	gate   int32 // -1 for a root
}

// Assign sends the trips: each zone's root and each gate grows a least-cost tree on a
// set of costs of its own, from the places to it or from it to them, by chance, for
// every trip goes there and back. The trees are used twice, first to sum up what pulls
// at each vertex, then to load the trips.
func (m *Gravity) Assign(ctx context.Context, e *plane.Earth) (*Sent, error) {
	z, err := m.zones(e)
	if err != nil {
		return nil, err
	}
	targets := make([]target, 0, len(z.roots)+len(m.Gates))
	for i, v := range z.roots {
		targets = append(targets, target{v, z.pull[i], -1})
	}
	for i := range m.Gates {
		targets = append(targets, target{m.Gates[i].Vertex, m.Gates[i].Pull, int32(i)})
	}
	s := newSending(m, targets)
	if err := s.run(ctx, s.gather); err != nil {
		return nil, err
	}
	s.weigh()
	if err := s.run(ctx, s.load); err != nil {
		return nil, err
	}
	out := &Sent{Passes: s.onEdges(), Arrived: make([]float64, len(m.G.Vertex))}
	s.tally(out)
	z.spread(m, out, s.arrived)
	return out, nil
}

// zones are the destinations gathered at roots.
type zones struct {
	roots []int32   // vertices
	pull  []float64 // by root
	of    []int32   // by vertex: its root's index, -1 where none is reached
	up    []int32   // by vertex: the arc that leads to it from its root, -1 at roots
	order []int32   // vertices, nearest to their roots first
}

// zones gathers what draws at the strongest vertex of each square of zoneM. Every
// vertex belongs to the root nearest along the ways.
func (m *Gravity) zones(e *plane.Earth) (*zones, error) {
	z := &zones{}
	best := map[plane.Square]int32{}
	at := make([]plane.Square, len(m.Pull))
	for v, pull := range m.Pull {
		if pull <= 0 {
			continue
		}
		at[v] = e.Square(m.G.Vertex[v], m.ZoneM)
		if was, ok := best[at[v]]; !ok || pull > m.Pull[was] || pull == m.Pull[was] && m.G.VertexNode[v] < m.G.VertexNode[was] {
			best[at[v]] = int32(v)
		}
	}
	for v := range m.Pull { // in the order of vertices
		if m.Pull[v] > 0 && best[at[v]] == int32(v) {
			z.roots = append(z.roots, int32(v))
		}
	}
	return z, m.gather(z)
}

// gather gives every vertex its root.
func (m *Gravity) gather(z *zones) error {
	z.pull = make([]float64, len(z.roots))
	z.of, z.up = make([]int32, len(m.Pull)), make([]int32, len(m.Pull))
	sources := make([]search.Source, len(z.roots))
	for i, v := range z.roots {
		sources[i].Vertex = v
	}
	for v := range z.of {
		z.of[v], z.up[v] = -1, -1
	}
	for i, v := range z.roots {
		z.of[v] = int32(i)
	}
	tree, err := m.Router.Reach(sources, m.Costs[0], search.Span{Cutoff: math.Inf(1)})
	if err != nil {
		return err
	}
	defer tree.Release()
	z.order = append(z.order, tree.Settled...)
	for _, v := range z.order {
		if a := tree.Arc(v); a >= 0 {
			z.up[v] = a
			z.of[v] = z.of[m.G.Star.Head[m.G.Star.Twin[a]]]
		}
		z.pull[z.of[v]] += m.Pull[v]
	}
	return nil
}

// spread shares what arrived at the roots among their vertices by pull and walks it
// there.
func (z *zones) spread(m *Gravity, out *Sent, arrived []float64) {
	load := make([]float64, len(m.Pull))
	for _, v := range z.order {
		i := z.of[v]
		if z.pull[i] > 0 {
			load[v] = arrived[i] * m.Pull[v] / z.pull[i]
			out.Arrived[v] = load[v]
		}
	}
	for k := len(z.order) - 1; k >= 0; k-- {
		v := z.order[k]
		if a := z.up[v]; a >= 0 {
			out.Passes[m.G.ArcEdge[a]] += load[v]
			load[m.G.Star.Head[m.G.Star.Twin[a]]] += load[v]
		}
	}
}

// Gate is a place where the border of the map cuts what goes on beyond it: a strip
// of land like that about it draws trips and sends them.
type Gate struct {
	Vertex int32
	Out    plane.Point // unit direction in which the way leaves the map
	Pull   float64
	Origin float64 // trips a day that the strip sends
	Plane  float64 // what pulls at it on endless ground of its kind
	Widen  float64 // how much more land than the strip comes and goes by it; what goes right through comes from the strip
}

// leastTurn is the cosine of the angle below which two gates' ways lead into the
// same land beyond the border: nobody comes in by one to leave by the other.
const leastTurn = 0.29 // 73 degrees; our assumption

// passesThrough tells whether trips that come in at gate g may go to a target: to a root
// always, to another gate only through the map.
func (m *Gravity) passesThrough(g, target int32) bool {
	return target < 0 || g != target && m.Gates[g].Out.Dot(m.Gates[target].Out) < leastTurn
}
