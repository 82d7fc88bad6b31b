package routing

import (
	"math"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/routing/search"
)

// clockStep is how often along a walk the clock is looked at: opening hours and
// bells fall on such marks, profiles on whole hours.
const clockStep = 10 * time.Minute

// costs are what the arcs of a reach cost one dog, by stretch of the clock.
type costs struct {
	sums    *exposure.Sums
	timeS   []float32   // per local arc
	hazard  [][]float32 // per stretch and edge of the reach: expected reactions a second
	cost    [][]float32 // per stretch and local arc: expected reactions
	changeS []float64   // instants at which the next stretch begins, since departure
	moments []hours.Moment
}

// price works out the costs of a reach for walks of up to horizonS seconds.
func (p *Planner) price(r *reach, w *Wish, horizonS float64) *costs {
	return p.priceAt(r, w, p.snap.Field.Sums(&w.Dog, r.edges), horizonS)
}

// priceAt is price for a departure of which the sums over the field are known:
// they hold for every hour.
func (p *Planner) priceAt(r *reach, w *Wish, sums *exposure.Sums, horizonS float64) *costs {
	c := &costs{sums: sums, timeS: make([]float32, len(r.piece))}
	pace := float32(w.Dog.PaceMPS())
	for a := range r.piece {
		c.timeS[a] = r.piece[a].lengthM / pace * p.snap.Slopes.factor(&r.piece[a])
	}
	end := w.Depart.Add(time.Duration(horizonS * float64(time.Second)))
	for t := w.Depart; t.Before(end); t = t.Truncate(clockStep).Add(clockStep) {
		m := p.clock.At(t)
		h := c.sums.Hazard(m, w.Factors, nil)
		if n := len(c.hazard); n > 0 && slices.Equal(h, c.hazard[n-1]) {
			continue
		}
		if len(c.hazard) > 0 {
			c.changeS = append(c.changeS, t.Sub(w.Depart).Seconds())
		}
		c.hazard = append(c.hazard, h)
		c.moments = append(c.moments, m)
		c.cost = append(c.cost, arcCosts(r, c.timeS, h))
	}
	return c
}

// arcCosts is time on each arc times the hazard of its edge.
func arcCosts(r *reach, timeS, hazard []float32) []float32 {
	out := make([]float32, len(r.piece))
	for a := range out {
		out[a] = timeS[a] * hazard[r.piece[a].slot]
	}
	return out
}

// stretchAt is the stretch of the clock that holds atS seconds after departure.
func (c *costs) stretchAt(atS float64) int {
	i := len(c.changeS)
	for i > 0 && c.changeS[i-1] > atS {
		i--
	}
	return i
}

// bars says which arcs of a reach the limits forbid, and which limit forbids the
// most length: the one to name when nothing is left.
func (p *Planner) bars(r *reach, w *Wish, c *costs) (barred []bool, worst string) {
	byEdge := make([]bool, len(r.edges))
	length := map[string]float64{}
	ban := func(slot int, limit string) {
		byEdge[slot] = true
		length[limit] += float64(p.snap.Graph.LengthM[r.edges[slot]])
	}
	dark := slices.ContainsFunc(c.moments, func(m hours.Moment) bool { return m.Light() != hours.Daylight })
	for _, b := range w.Limits.barriers(w.From, dark) {
		for slot, e := range r.edges {
			if b.banned(p, e) {
				ban(slot, b.name)
			}
		}
	}
	p.barSources(r, w, c, ban)
	if len(length) == 0 {
		return nil, ""
	}
	p.letOut(r, byEdge)
	for name, m := range length {
		if worst == "" || m > length[worst] || m == length[worst] && name < worst {
			worst = name
		}
	}
	barred = make([]bool, len(r.piece))
	for a := range barred {
		barred[a] = byEdge[r.piece[a].slot]
	}
	return barred, worst
}

// activeLimit is the probability of somebody being there from which on a fixed
// source is kept away from (our assumption).
const activeLimit = 0.2

// barSources forbids the edges too near to sources that are likely active at any
// time of the walk.
func (p *Planner) barSources(r *reach, w *Wish, c *costs, ban func(slot int, limit string)) {
	f := p.snap.Field
	type keep struct {
		m     float64
		limit string
	}
	kept := map[int32]keep{}
	for slot, e := range r.edges {
		for t := range f.TouchesOf(e) {
			k, known := kept[t.Source]
			if !known {
				k.m, k.limit = p.keepFrom(w, t.Source)
				if k.m > 0 && !p.likelyActive(w, c, t.Source) {
					k.m = 0
				}
				kept[t.Source] = k
			}
			if k.m > 0 && float64(t.DistM) < k.m && (t.InSight || p.heard(t.Source)) {
				ban(slot, k.limit)
			}
		}
	}
}

func (p *Planner) likelyActive(w *Wish, c *costs, source int32) bool {
	return slices.ContainsFunc(c.moments, func(m hours.Moment) bool {
		return p.snap.Field.Active(source, &w.Dog, m, w.Factors) > activeLimit
	})
}

// heard says that something at a source counts without being seen.
func (p *Planner) heard(source int32) bool {
	return slices.ContainsFunc(p.snap.Field.Source(source).Mix, func(m exposure.Presence) bool { return m.Kind.Info().Heard })
}

// letOut frees the cheapest way out of a forbidden zone that the start lies in,
// so that a walk can begin at all; it is the first leg and said so.
func (p *Planner) letOut(r *reach, barred []bool) {
	if !r.enclosed(barred) {
		return
	}
	for _, slot := range r.shortestExit(barred) {
		barred[slot] = false
	}
}

// enclosed says that every arc out of the door is forbidden.
func (r *reach) enclosed(barred []bool) bool {
	for a := r.star.First[r.door]; a < r.star.First[r.door+1]; a++ {
		if !barred[r.piece[a].slot] {
			return false
		}
	}
	return true
}

// shortestExit lists the edges of the shortest way from the door, through
// forbidden ground only, to a vertex with a free arc; nil if there is none.
func (r *reach) shortestExit(barred []bool) (slots []int32) {
	lengthM, free := make([]float32, len(r.piece)), make([]bool, len(r.piece))
	for a := range r.piece {
		lengthM[a], free[a] = r.piece[a].lengthM, !barred[r.piece[a].slot]
	}
	router, err := search.NewRouter(&r.star)
	if err != nil {
		return nil
	}
	tree, err := router.Reach([]search.Source{{Vertex: r.door}}, lengthM, search.Span{Cutoff: math.Inf(1), Barred: free})
	if err != nil {
		return nil
	}
	defer tree.Release()
	for _, v := range tree.Settled {
		if slices.Contains(free[r.star.First[v]:r.star.First[v+1]], true) {
			for _, a := range tree.Path(nil, v) {
				slots = append(slots, r.piece[a].slot)
			}
			return slots
		}
	}
	return nil
}
