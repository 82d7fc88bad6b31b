package drive

import (
	"math"

	"wideberth/osmdata/plane"
	"wideberth/routing/search"
)

// Kerb is a place on a road where a car can halt.
type Kerb struct {
	At    plane.Point
	DistM float64 // from the point that was asked for
	edge  int32
	share float64 // of the edge, from its tail
}

// Kerb finds the place nearest to a point where a car can halt, at most maxM metres
// away; false if there is none.
func (n *Network) Kerb(at plane.Point, maxM float64) (Kerb, bool) {
	n.ready()
	h, ok := n.index.Nearest(at, maxM, 1)
	if !ok {
		return Kerb{}, false
	}
	p := n.pieces[h.ID]
	length := n.course(p.edge).LengthM()
	share := 0.0
	if length > 0 {
		share = min(1, (float64(p.fromM)+n.index.Segment(h.Segment).A.DistanceM(h.At))/length)
	}
	return Kerb{At: h.At, DistM: h.DistM, edge: p.edge, share: share}, true
}

// Trips are the least times of drives from one kerb. They hold working memory: call
// Release when done and do not use them afterwards.
type Trips struct {
	n    *Network
	from Kerb
	tree *search.Tree
}

// From finds all drives from a kerb of at most mostS seconds.
func (n *Network) From(k Kerb, mostS float64) (*Trips, error) {
	if n.ready(); n.err != nil {
		return nil, n.err
	}
	var sources []search.Source
	e, there := &n.edges[k.edge], run(2*k.edge)
	back := there.back()
	if e.use&forward != 0 {
		sources = append(sources, search.Source{Vertex: n.arrival(there), Offset: (1-k.share)*float64(e.seconds) + n.waitS(there)})
	}
	if e.use&backward != 0 {
		sources = append(sources, search.Source{Vertex: n.arrival(back), Offset: k.share*float64(e.seconds) + n.waitS(back)})
	}
	tree, err := n.router.Reach(sources, n.cost, search.Span{Cutoff: mostS})
	if err != nil {
		return nil, err
	}
	return &Trips{n, k, tree}, nil
}

// Seconds is the time of the drive to another kerb, infinite where none is found.
func (t *Trips) Seconds(to Kerb) float64 {
	e, there := &t.n.edges[to.edge], run(2*to.edge)
	best := math.Inf(1)
	if e.use&forward != 0 {
		best = t.before(there) + to.share*float64(e.seconds)
		if t.from.edge == to.edge && t.from.share <= to.share {
			best = min(best, (to.share-t.from.share)*float64(e.seconds))
		}
	}
	if e.use&backward != 0 {
		best = min(best, t.before(there.back())+(1-to.share)*float64(e.seconds))
		if t.from.edge == to.edge && t.from.share >= to.share {
			best = min(best, (t.from.share-to.share)*float64(e.seconds))
		}
	}
	return best
}

// Release gives the working memory back.
func (t *Trips) Release() { t.tree.Release() }
