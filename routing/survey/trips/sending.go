package trips

import (
	"context"
	"sync"

	"wideberth/osmdata/parallel"
)

// sending is an assignment of trips under way. Its pieces of work are the metrics:
// each set of costs in each direction with the trees of all targets that have drawn
// it, one after the other, so that sums come in the same order whoever does them.
type sending struct {
	*Gravity
	mesh    *mesh
	fade    *fade
	targets []target
	of      [][]int32         // by metric: its targets, roots before gates
	trees   [][]uint8         // by metric: their trees, as grow leaves them
	gatesOf map[int32][]int32 // by number in the mesh: the gates there and on its twigs

	mu         sync.Mutex // guards the tallies
	pulled     Tallies    // by vertex: what pulls there
	beyond     Tallies    // by twig: of that, what lies beyond its dead end
	gatePulled Tallies    // by gate: what roots pull there
	gateBeyond Tallies    // by gate on a twig: of that, what lies beyond its dead end
	edges      Tallies    // by edge: trips
	turned     Tallies    // by twig: trips from a gate there to other gates beyond its dead end

	share   []float64 // by vertex: trips that start there, for each unit of pull
	shares  []float64 // by vertex: the same with those that come in by a gate there
	arrived []float64 // by target: trips
	outside []float64 // by target that is a gate: of those, trips that came in by another
}

func newSending(m *Gravity, targets []target) *sending {
	s := &sending{Gravity: m, mesh: newMesh(m.G), fade: newFade(m.LambdaM, reachLambdas), targets: targets,
		of: make([][]int32, 2*len(m.Costs)), trees: make([][]uint8, 2*len(m.Costs)), gatesOf: map[int32][]int32{},
		arrived: make([]float64, len(targets)), outside: make([]float64, len(targets))}
	for i := range targets {
		n := m.G.VertexNode[targets[i].vertex]
		draw := mixedOf(n, n, 0, saltSet, m.Seed)
		k := 2*(draw%uint64(len(m.Costs))) + draw>>32&1
		s.of[k] = append(s.of[k], int32(i))
	}
	for g := range m.Gates {
		foot, _ := s.mesh.seat(m.Gates[g].Vertex)
		s.gatesOf[foot] = append(s.gatesOf[foot], int32(g))
	}
	nv, nt, ng := len(m.G.Vertex), len(s.mesh.twigs), len(m.Gates)
	s.pulled, s.beyond, s.gatePulled, s.gateBeyond = make(Tallies, nv), make(Tallies, nt), make(Tallies, ng), make(Tallies, ng)
	s.edges, s.turned = make(Tallies, m.G.EdgeCount()), make(Tallies, nt)
	return s
}

// run does one round over the metrics.
func (s *sending) run(ctx context.Context, round func(ctx context.Context, gr *grower, k *fading, i int) error) error {
	return parallel.With(ctx, s.Workers, len(s.of), func() func(int) error {
		gr := newGrower(s.mesh, s.fade.reach)
		return func(i int) error {
			if len(s.of[i]) == 0 {
				return nil
			}
			return round(ctx, gr, s.fade.along(s.mesh.metric(s.Costs[i/2], i%2 == 0, s.fade.reach)), i)
		}
	})
}

// ticks tells of progress and looks whether to go on, now and then.
func (s *sending) ticks(ctx context.Context, n int) error {
	if n%tourRun > 0 {
		return nil
	}
	s.Tick(tourRun)
	return ctx.Err()
}

// pulls is what the targets of a metric pull.
type pulls struct {
	k      *fading
	both   []float64 // by number: at the vertex, and as much less on its twigs as they are farther off
	own    []float64 // by number: at the vertex alone
	beyond []float64 // by twig: from beyond its dead end, besides what the vertex has in both
	inside []float64 // by twig: from inside its dead end
}

// at is what pulls at a vertex, and of that what lies beyond its dead end if it stands
// on one.
func (p *pulls) at(v int32) (all, beyond float64) {
	foot, twig := p.k.m.seat(v)
	if twig < 0 {
		return p.both[foot] + p.own[foot], 0
	}
	beyond = p.both[foot]*p.k.near[twig] + p.beyond[twig]
	return beyond + p.inside[twig], beyond
}

// gather grows the trees of a metric and sums up what pulls.
func (s *sending) gather(ctx context.Context, gr *grower, k *fading, i int) error {
	nn, nt := len(s.mesh.vertex), len(s.mesh.twigs)
	p := &pulls{k, make([]float64, nn), make([]float64, nn), make([]float64, nt), make([]float64, nt)}
	list := s.of[i]
	for n, j := range list {
		if err := s.ticks(ctx, n); err != nil {
			return err
		}
		t := &s.targets[j]
		if t.gate >= 0 && (n == 0 || s.targets[list[n-1]].gate < 0) {
			s.noteGates(p)
		}
		s.trees[i] = s.pullOf(gr, p, t, s.trees[i])
	}
	if s.targets[list[len(list)-1]].gate < 0 {
		s.noteGates(p)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for v := range s.pulled {
		all, beyond := p.at(int32(v))
		s.pulled.Add(int32(v), all)
		if twig := s.mesh.twigOf[v]; twig >= 0 {
			s.beyond.Add(twig, beyond)
		}
	}
	return nil
}

// noteGates adds up what pulls at the gates while it is roots alone.
func (s *sending) noteGates(p *pulls) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for g := range s.Gates {
		all, beyond := p.at(s.Gates[g].Vertex)
		s.gatePulled.Add(int32(g), all)
		s.gateBeyond.Add(int32(g), beyond)
	}
}

// pullOf adds what one target pulls, and its tree to out.
func (s *sending) pullOf(gr *grower, p *pulls, t *target, out []uint8) []uint8 {
	k, w := p.k, s.widened(t)
	foot, twig := s.mesh.seat(t.vertex)
	out = gr.grow(k.Metric, foot, k.offset(twig), out)
	for n := range gr.steps {
		st := &gr.steps[n]
		near := w * s.fade.of(st.cost)
		if !k.apart(st, n, twig) {
			p.both[st.at] += near
			continue
		}
		p.own[st.at] += near
		s.mesh.others(st.at, n, twig, func(i int32) { p.beyond[i] += w * s.fade.of(st.cost+k.leave[i]) })
	}
	if twig >= 0 {
		gr.enter(k.Metric, twig)
		for n := range gr.inside {
			st := &gr.inside[n]
			p.inside[st.at] += w * s.fade.of(st.cost)
		}
	}
	return out
}

// widened is what a target pulls from inside the map.
func (s *sending) widened(t *target) float64 {
	if t.gate < 0 {
		return t.pull
	}
	return t.pull * s.Gates[t.gate].Widen
}

// weigh makes of what pulls what each vertex sends for a unit of pull.
func (s *sending) weigh() {
	s.share, s.shares = make([]float64, len(s.pulled)), make([]float64, len(s.pulled))
	for v, pull := range s.pulled.Passes() {
		if pull > 0 {
			s.share[v] = s.Origin[v] / pull
		}
		s.shares[v] = s.share[v]
	}
	for g := range s.Gates {
		s.shares[s.Gates[g].Vertex] += s.inward(g)
	}
}

// inward is what comes in by a gate for each unit of pull of roots.
func (s *sending) inward(g int) float64 {
	return s.Gates[g].Origin * s.Gates[g].Widen / s.Gates[g].Plane
}

// loads is what the trips of a metric load.
type loads struct {
	k      *fading
	share  []float64 // by number: trips of the vertex and its twigs for each unit of pull
	shares []float64 // by number: the same with those by gates
	links  []float64 // by link
	twigs  []float64 // by twig: on its edge, to targets inside its dead end
	turned []float64 // by twig: that leave from a gate there to another beyond its dead end
}

// load sends the trips along the trees of a metric.
func (s *sending) load(ctx context.Context, gr *grower, k *fading, i int) error {
	m, nt := s.mesh, len(s.mesh.twigs)
	l := &loads{k, s.gathered(k, s.share), s.gathered(k, s.shares), make([]float64, len(m.arcs)), make([]float64, nt), make([]float64, nt)}
	tree := s.trees[i]
	for n, j := range s.of[i] {
		if err := s.ticks(ctx, n); err != nil {
			return err
		}
		foot, twig := m.seat(s.targets[j].vertex)
		tree = gr.regrow(k.Metric, foot, k.offset(twig), tree)
		s.send(gr, l, j, twig)
	}
	s.trees[i] = nil
	s.mu.Lock()
	defer s.mu.Unlock()
	for link, trips := range l.links {
		s.edges.Add(m.g.ArcEdge[m.arcs[link]], trips)
	}
	for t := range m.twigs {
		s.edges.Add(m.g.ArcEdge[m.twigs[t].arc], l.twigs[t])
		s.turned.Add(int32(t), l.turned[t])
	}
	return nil
}

// gathered adds to the share of each vertex of the mesh those of its twigs, as much
// less as they are farther off.
func (s *sending) gathered(k *fading, share []float64) []float64 {
	out := make([]float64, len(s.mesh.vertex))
	for n, v := range s.mesh.vertex {
		out[n] = share[v]
	}
	for i := range s.mesh.twigs {
		out[s.mesh.twigs[i].foot] += share[s.mesh.twigs[i].vertex] * k.near[i]
	}
	return out
}

// send loads the trips to one target on its tree, farthest vertex first.
func (s *sending) send(gr *grower, l *loads, j, twig int32) {
	k, t, w := l.k, &s.targets[j], s.widened(&s.targets[j])
	each, all := s.shares, l.shares
	if t.gate >= 0 {
		each, all = s.share, l.share
	}
	gr.load = gr.load[:0]
	for n := range gr.steps {
		st := &gr.steps[n]
		trips := 0.0
		if !k.apart(st, n, twig) {
			trips = w * s.fade.of(st.cost) * all[st.at]
		} else {
			trips = w * s.fade.of(st.cost) * each[s.mesh.vertex[st.at]]
			s.mesh.others(st.at, n, twig, func(i int32) { trips += w * s.fade.of(st.cost+k.leave[i]) * each[s.mesh.twigs[i].vertex] })
		}
		if t.gate >= 0 {
			trips += s.through(l, j, st, n, twig)
		}
		gr.load = append(gr.load, trips)
	}
	came := down(gr.steps, gr.load, l.links)
	if twig < 0 {
		s.arrived[j] = came
		return
	}
	top := gr.enter(k.Metric, twig)
	gr.load = gr.load[:0]
	for n := range gr.inside {
		st := &gr.inside[n]
		v := s.mesh.twigs[st.at].vertex
		trips := w * s.fade.of(st.cost) * each[v]
		if t.gate >= 0 {
			for _, g := range s.gatesOf[s.mesh.twigs[st.at].foot] {
				if s.Gates[g].Vertex == v {
					trips += s.throughBy(j, g, st.cost)
				}
			}
		}
		gr.load = append(gr.load, trips)
	}
	if top >= 0 {
		l.twigs[gr.inside[top].at] += came
		gr.load[top] += came
	}
	s.arrived[j] = down(gr.inside, gr.load, l.twigs)
}

// down brings what starts at each step to the root and gives what arrives there.
func down(steps []step, load, onto []float64) float64 {
	if len(steps) == 0 {
		return 0
	}
	for n := len(steps) - 1; n > 0; n-- {
		onto[steps[n].link] += load[n]
		load[steps[n].on] += load[n]
	}
	return load[0]
}

// through is what comes in by the gates at a step and on its twigs and leaves by gate j.
func (s *sending) through(l *loads, j int32, st *step, n int, twig int32) float64 {
	sum := 0.0
	for _, g := range s.gatesOf[st.at] {
		_, i := s.mesh.seat(s.Gates[g].Vertex)
		if i < 0 {
			sum += s.throughBy(j, g, st.cost)
			continue
		}
		if n == 0 && s.mesh.together(i, twig) {
			continue
		}
		trips := s.throughBy(j, g, st.cost+l.k.leave[i])
		l.turned[i] += trips
		sum += trips
	}
	return sum
}

// throughBy is what comes in by gate g and leaves by the gate that is target j.
func (s *sending) throughBy(j, g int32, cost float64) float64 {
	if !s.passesThrough(g, s.targets[j].gate) {
		return 0
	}
	trips := s.Gates[g].Origin * s.targets[j].pull * s.fade.of(cost) / s.Gates[g].Plane
	s.outside[j] += trips
	return trips
}

// onEdges is the trips by edge: those on the trees and those from dead ends out.
func (s *sending) onEdges() []float64 {
	out := s.edges.Passes()
	load, beyond, gates := s.turned.Passes(), s.beyond.Passes(), s.gateBeyond.Passes()
	for i := range load {
		load[i] += s.share[s.mesh.twigs[i].vertex] * beyond[i]
	}
	for g := range s.Gates {
		if _, i := s.mesh.seat(s.Gates[g].Vertex); i >= 0 {
			load[i] += s.inward(g) * gates[g]
		}
	}
	for i := len(load) - 1; i >= 0; i-- {
		t := &s.mesh.twigs[i]
		out[s.G.ArcEdge[t.arc]] += load[i]
		if t.up >= 0 {
			load[t.up] += load[i]
		}
	}
	return out
}

// tally adds up what went where.
func (s *sending) tally(out *Sent) {
	for g, pull := range s.gatePulled.Passes() {
		out.Inward += s.inward(g) * pull
	}
	out.Trips = -out.Inward
	for j := range s.targets {
		out.Trips += s.arrived[j] - s.outside[j]
		out.Through += s.outside[j]
		if s.targets[j].gate >= 0 {
			out.Outward += s.arrived[j] - s.outside[j]
		}
	}
	for v, n := range s.Origin {
		if s.pulled[v] == 0 {
			out.Lost += n
		}
	}
}
