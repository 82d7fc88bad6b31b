package loop

import "math"

// maxMultiplierSteps is where more steps no longer pay for themselves.
const maxMultiplierSteps = 30

// multipliers searches penalties on second passes that make the bound of the
// table as high as possible: subgradient steps, the best kept.
//
// They bound from below because a walk that passes a chain once pays the
// penalty and is owed it back, one that passes it twice pays it once more than
// it gets back, and that is at most the surcharge.
type multipliers struct {
	s       *Solver
	layers  int
	now     []float64
	best    []float64
	most    []float64 // per chain: the surcharge
	passes  []float64
	perEdge []float64 // the best ones on the first edge of each chain
}

// start begins without penalties.
func (m *multipliers) start() {
	n := len(m.s.core.chain)
	m.now, m.best, m.passes = make([]float64, n), make([]float64, n), make([]float64, n)
	m.limit()
}

// carryOver gives the chains of a core laid out anew what their edges had.
func (m *multipliers) carryOver() {
	m.start()
	c := &m.s.core
	for i := range c.chain {
		k := &c.chain[i]
		for _, l := range c.member[k.first : k.first+k.size] {
			m.best[i] += m.perEdge[l>>1]
		}
		m.best[i] = min(m.best[i], m.most[i])
	}
}

// raise takes steps from the best penalties so far and keeps what is better.
func (m *multipliers) raise(steps int) float64 {
	s, c := m.s, &m.s.core
	copy(m.now, m.best)
	best, length := math.Inf(-1), 1.0
	for i := 0; i <= steps; i++ {
		s.bound.fill(c, m.layers, true, m.now)
		bound := s.bound.bound()
		for _, x := range m.now {
			bound -= x
		}
		if bound > best {
			best = bound
			copy(m.best, m.now)
		} else {
			length *= 0.7
		}
		if s.over() != nil {
			break
		}
		if i < steps && (best >= s.best.cost || !m.step(length*(s.best.cost-bound))) {
			break
		}
	}
	return best
}

func (m *multipliers) limit() {
	c := &m.s.core
	m.most = make([]float64, len(c.chain))
	for i := range m.most {
		a, b := &c.arc[c.byRun[2*i]], &c.arc[c.byRun[2*i+1]]
		m.most[i] = min(a.surcharge, b.surcharge)
		if !a.lasting {
			m.most[i] = m.s.best.cost
		}
	}
}

// step moves the penalties along the passes of the relaxed walk. It reports
// false when that walk leaves nothing to move.
func (m *multipliers) step(gain float64) bool {
	clear(m.passes)
	m.s.bound.trace(func(chain int32) { m.passes[chain]++ })
	norm := 0.0
	for i, n := range m.passes {
		if (n > 1 && m.now[i] < m.most[i]) || (n < 1 && m.now[i] > 0) {
			norm += (n - 1) * (n - 1)
		}
	}
	if norm == 0 || gain <= 0 {
		return false
	}
	for i, n := range m.passes {
		m.now[i] = max(0, min(m.most[i], m.now[i]+gain/norm*(n-1)))
	}
	return true
}

// trace follows a walk from the root that attains the bound.
func (t *loopTable) trace(visit func(chain int32)) {
	c := t.c
	v, by, r, set := int32(0), int32(noArc), t.layers, uint32(0)
	// A way home never repeats a vertex and a way that fills layers takes at
	// least one a step, which bounds the walk.
	for range int(t.layers) + c.vertexCount() + 1 {
		if (v == 0 || c.open) && r <= 0 {
			return
		}
		a := t.next(v, by, r, set)
		if a == noArc {
			return
		}
		visit(c.arc[a].run >> 1)
		r = max(r-t.steps[a], 0)
		v, by, set = c.arc[a].head, a, t.after(set, a)
	}
}

// next is the arc that the value at v comes from.
func (t *loopTable) next(v, by, r int32, set uint32) int32 {
	c := t.c
	least, at := math.Inf(1), int32(noArc)
	for a := c.first[v]; a < c.first[v+1]; a++ {
		turn := c.turnOnto(v, by, a)
		k := &t.arc[int32(set)*int32(len(c.arc))+a]
		var x float64
		switch {
		case r <= t.low[v]:
			x = t.homeCost[a] + t.dist[c.arc[a].head]
		case r <= k.under:
			x = float64(k.home)
		default:
			x = float64(k.cost + t.cell[r*int32(len(t.arc))+k.off])
		}
		if x += turn; x < least {
			least, at = x, a
		}
	}
	return at
}
