package search

// star is a graph laid out for searching: the arcs out of a vertex lie side by
// side, each with what a search needs to know of it.
//
// An arc that leads into a tree hanging on the rest of the graph (a cul-de-sac,
// however branched) stands after the others of its vertex. A search for a path
// between two vertices from both ends never needs it: out of a tree each side can
// only climb, and where the path goes down into a tree the other side has climbed
// up. A third of a street network's vertices stand in such trees.
type star struct {
	hubs  []hub   // one per vertex and one more
	links []edge  // one per arc
	up    []int32 // as of DeadEnds
}

// hub says where a vertex's arcs lie: links[first:live], then those down into
// trees up to the next hub's first.
type hub struct{ first, live int32 }

// edge is an arc, its twin and its head. Where the head has a single way on,
// onward is the place of that way among the links, else -1.
type edge struct{ head, arc, twin, onward int32 }

// newStar lays a graph out.
func newStar(g *Graph) *star {
	n := g.VertexCount()
	s := &star{hubs: make([]hub, n+1), links: make([]edge, 0, g.ArcCount()), up: g.DeadEnds()}
	s.lay(g)
	s.chain()
	return s
}

// down says that an arc leads into a tree, away from the rest.
func (s *star) down(g *Graph, a int32) bool { return s.up[g.Head[a]] == g.Twin[a] }

// lay fills the links, those that lead into trees last.
func (s *star) lay(g *Graph) {
	for v := range int32(g.VertexCount()) {
		s.hubs[v].first = int32(len(s.links))
		for _, down := range [...]bool{false, true} {
			for a := g.First[v]; a < g.First[v+1]; a++ {
				if s.down(g, a) == down {
					s.links = append(s.links, edge{head: g.Head[a], arc: a, twin: g.Twin[a], onward: -1})
				}
			}
			if !down {
				s.hubs[v].live = int32(len(s.links))
			}
		}
	}
	s.hubs[g.VertexCount()] = hub{first: int32(len(s.links)), live: int32(len(s.links))}
}

// chain notes where a search can go straight on: at heads with two arcs that do not
// lead into trees.
func (s *star) chain() {
	for i := range s.links {
		l := &s.links[i]
		h := s.hubs[l.head]
		if h.live-h.first != 2 {
			continue
		}
		l.onward = h.first
		if s.links[h.first].arc == l.twin {
			l.onward++
		}
	}
}
