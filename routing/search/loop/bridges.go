package loop

// findBridges marks the chains whose loss would cut the neighbourhood in two.
// Tarjan's low points, without recursion.
func (c *loopCore) findBridges() {
	c.bridge = cleared(c.bridge, len(c.chain))
	n := c.vertexCount()
	w := bridgeWalk{c: c, entered: cleared(c.visit, n), low: cleared(c.low, n)}
	w.enter(0, -1)
	for len(w.path) > 0 {
		w.step()
	}
	c.visit, c.low = w.entered, w.low
}

// bridgeWalk is a depth-first walk over the core from its root.
type bridgeWalk struct {
	c            *loopCore
	entered, low []int32 // order of entry from 1, and the earliest entry reached from below
	clock        int32
	path         []bridgeFrame
}

type bridgeFrame struct {
	v, by, next int32 // vertex, arc it was entered by, next arc out of it to look at
}

func (w *bridgeWalk) enter(v, by int32) {
	w.clock++
	w.entered[v], w.low[v] = w.clock, w.clock
	w.path = append(w.path, bridgeFrame{v, by, w.c.first[v]})
}

func (w *bridgeWalk) step() {
	f := &w.path[len(w.path)-1]
	if f.next == w.c.first[f.v+1] {
		w.leave(*f)
		return
	}
	a := f.next
	f.next++
	k := &w.c.arc[a]
	switch {
	case f.by >= 0 && a == w.c.arc[f.by].twin:
	case w.entered[k.head] == 0:
		w.enter(k.head, a)
	default:
		w.low[f.v] = min(w.low[f.v], w.entered[k.head])
	}
}

// leave passes the low point on to the vertex above; where nothing below
// reaches above, the arc between them is a bridge.
func (w *bridgeWalk) leave(f bridgeFrame) {
	w.path = w.path[:len(w.path)-1]
	if f.by < 0 {
		return
	}
	twin := w.c.arc[f.by].twin
	above := w.c.arc[twin].head
	w.low[above] = min(w.low[above], w.low[f.v])
	if w.low[f.v] > w.entered[above] {
		w.c.bridge[w.c.arc[twin].run>>1] = true
	}
}
