package survey

import (
	"context"
	"sync"

	"wideberth/osmdata/parallel"
)

// sending is an assignment of trips under way. Its pieces of work are the metrics:
// each set of costs in each direction with the trees of all targets that have drawn
// it, one after the other, so that sums come in the same order whoever does them.
type sending struct {
	*gravity
	mesh    *mesh
	fade    *fade
	targets []target
	of      [][]int32         // by metric: its targets, roots before gates
	trees   [][]uint8         // by metric: their trees, as grow leaves them
	gatesOf map[int32][]int32 // by number in the mesh: the gates there and on its twigs

	mu         sync.Mutex // guards the tallies
	pulled     tallies    // by vertex: what pulls there
	beyond     tallies    // by twig: of that, what lies beyond its dead end
	gatePulled tallies    // by gate: what roots pull there
	gateBeyond tallies    // by gate on a twig: of that, what lies beyond its dead end
	edges      tallies    // by edge: trips
	turned     tallies    // by twig: trips from a gate there to other gates beyond its dead end

	share   []float64 // by vertex: trips that start there, for each unit of pull
	shares  []float64 // by vertex: the same with those that come in by a gate there
	arrived []float64 // by target: trips
	outside []float64 // by target that is a gate: of those, trips that came in by another
}

func newSending(m *gravity, targets []target) *sending {
	s := &sending{gravity: m, mesh: newMesh(m.g), fade: newFade(m.lambdaM, reachLambdas), targets: targets,
		of: make([][]int32, 2*len(m.costs)), trees: make([][]uint8, 2*len(m.costs)), gatesOf: map[int32][]int32{},
		arrived: make([]float64, len(targets)), outside: make([]float64, len(targets))}
	for i := range targets {
		n := m.g.VertexNode[targets[i].vertex]
		draw := mixedOf(n, n, 0, saltSet, m.seed)
		k := 2*(draw%uint64(len(m.costs))) + draw>>32&1
		s.of[k] = append(s.of[k], int32(i))
	}
	for g := range m.gates {
		foot, _ := s.mesh.seat(m.gates[g].vertex)
		s.gatesOf[foot] = append(s.gatesOf[foot], int32(g))
	}
	nv, nt, ng := len(m.g.Vertex), len(s.mesh.twigs), len(m.gates)
	s.pulled, s.beyond, s.gatePulled, s.gateBeyond = make(tallies, nv), make(tallies, nt), make(tallies, ng), make(tallies, ng)
	s.edges, s.turned = make(tallies, m.g.EdgeCount()), make(tallies, nt)
	return s
}

// run does one round over the metrics.
func (s *sending) run(ctx context.Context, round func(ctx context.Context, gr *grower, k *fading, i int) error) error {
	return parallel.With(ctx, s.workers, len(s.of), func() func(int) error {
		gr := newGrower(s.mesh, s.fade.reach)
		return func(i int) error {
			if len(s.of[i]) == 0 {
				return nil
			}
			return round(ctx, gr, s.fade.along(s.mesh.metric(s.costs[i/2], i%2 == 0, s.fade.reach)), i)
		}
	})
}

// ticks tells of progress and looks whether to go on, now and then.
func (s *sending) ticks(ctx context.Context, n int) error {
	if n%tourRun > 0 {
		return nil
	}
	s.tick(tourRun)
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
		s.pulled.add(int32(v), all)
		if twig := s.mesh.twigOf[v]; twig >= 0 {
			s.beyond.add(twig, beyond)
		}
	}
	return nil
}

// noteGates adds up what pulls at the gates while it is roots alone.
func (s *sending) noteGates(p *pulls) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for g := range s.gates {
		all, beyond := p.at(s.gates[g].vertex)
		s.gatePulled.add(int32(g), all)
		s.gateBeyond.add(int32(g), beyond)
	}
}

// pullOf adds what one target pulls, and its tree to out.
func (s *sending) pullOf(gr *grower, p *pulls, t *target, out []uint8) []uint8 {
	k, w := p.k, s.widened(t)
	foot, twig := s.mesh.seat(t.vertex)
	out = gr.grow(k.metric, foot, k.offset(twig), out)
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
		gr.enter(k.metric, twig)
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
	return t.pull * s.gates[t.gate].widen
}

// weigh makes of what pulls what each vertex sends for a unit of pull.
func (s *sending) weigh() {
	s.share, s.shares = make([]float64, len(s.pulled)), make([]float64, len(s.pulled))
	for v, pull := range s.pulled.passes() {
		if pull > 0 {
			s.share[v] = s.origin[v] / pull
		}
		s.shares[v] = s.share[v]
	}
	for g := range s.gates {
		s.shares[s.gates[g].vertex] += s.inward(g)
	}
}

// inward is what comes in by a gate for each unit of pull of roots.
func (s *sending) inward(g int) float64 {
	return s.gates[g].origin * s.gates[g].widen / s.gates[g].plane
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
		tree = gr.regrow(k.metric, foot, k.offset(twig), tree)
		s.send(gr, l, j, twig)
	}
	s.trees[i] = nil
	s.mu.Lock()
	defer s.mu.Unlock()
	for link, trips := range l.links {
		s.edges.add(m.g.ArcEdge[m.arcs[link]], trips)
	}
	for t := range m.twigs {
		s.edges.add(m.g.ArcEdge[m.twigs[t].arc], l.twigs[t])
		s.turned.add(int32(t), l.turned[t])
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
	top := gr.enter(k.metric, twig)
	gr.load = gr.load[:0]
	for n := range gr.inside {
		st := &gr.inside[n]
		v := s.mesh.twigs[st.at].vertex
		trips := w * s.fade.of(st.cost) * each[v]
		if t.gate >= 0 {
			for _, g := range s.gatesOf[s.mesh.twigs[st.at].foot] {
				if s.gates[g].vertex == v {
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
		_, i := s.mesh.seat(s.gates[g].vertex)
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
	if !s.passes(g, s.targets[j].gate) {
		return 0
	}
	trips := s.gates[g].origin * s.targets[j].pull * s.fade.of(cost) / s.gates[g].plane
	s.outside[j] += trips
	return trips
}

// onEdges is the trips by edge: those on the trees and those from dead ends out.
func (s *sending) onEdges() []float64 {
	out := s.edges.passes()
	load, beyond, gates := s.turned.passes(), s.beyond.passes(), s.gateBeyond.passes()
	for i := range load {
		load[i] += s.share[s.mesh.twigs[i].vertex] * beyond[i]
	}
	for g := range s.gates {
		if _, i := s.mesh.seat(s.gates[g].vertex); i >= 0 {
			load[i] += s.inward(g) * gates[g]
		}
	}
	for i := len(load) - 1; i >= 0; i-- {
		t := &s.mesh.twigs[i]
		out[s.g.ArcEdge[t.arc]] += load[i]
		if t.up >= 0 {
			load[t.up] += load[i]
		}
	}
	return out
}

// tally adds up what went where.
func (s *sending) tally(out *sent) {
	for g, pull := range s.gatePulled.passes() {
		out.inward += s.inward(g) * pull
	}
	out.trips = -out.inward
	for j := range s.targets {
		out.trips += s.arrived[j] - s.outside[j]
		out.through += s.outside[j]
		if s.targets[j].gate >= 0 {
			out.outward += s.arrived[j] - s.outside[j]
		}
	}
	for v, n := range s.origin {
		if s.pulled[v] == 0 {
			out.lost += n
		}
	}
}
