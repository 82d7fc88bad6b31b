package network

// WayParts finds the parts of a graph that lie on an OSM way: Part and Edge beside each
// other list all parts way by way, those of a way in the order of the edges.
type WayParts struct {
	Part, Edge []int32
	known      nodeTable // of ways
	at         []int32   // by number of the way, and one more: its first in Part
}

// WayParts lists the parts of the graph by their ways, made when it is first asked for.
// Calls may be concurrent.
func (g *Graph) WayParts() *WayParts {
	g.waysOnce.Do(func() { g.ways = newWayParts(g) })
	return g.ways
}

func newWayParts(g *Graph) *WayParts {
	w := &WayParts{Part: make([]int32, len(g.Parts)), Edge: make([]int32, len(g.Parts)), known: newNodeTable(len(g.Parts)), at: make([]int32, 1, len(g.Parts)+1)}
	number := make([]int32, len(g.Parts))
	for i := range g.Parts {
		n, fresh := w.known.number(g.Parts[i].Street)
		if fresh {
			w.at = append(w.at, 0)
		}
		number[i] = n
		w.at[n+1]++
	}
	for n := range len(w.at) - 1 {
		w.at[n+1] += w.at[n]
	}
	next := append([]int32(nil), w.at...)
	for e := range int32(g.EdgeCount()) {
		for i := g.PartAt[e]; i < g.PartAt[e+1]; i++ {
			k := next[number[i]]
			next[number[i]]++
			w.Part[k], w.Edge[k] = i, e
		}
	}
	return w
}

// Of gives where the parts of a way stand in the lists: from from on, before to.
func (w *WayParts) Of(way int64) (from, to int32) {
	n, ok := w.known.find(way)
	if !ok {
		return 0, 0
	}
	return w.at[n], w.at[n+1]
}
