package reach

import (
	"math"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/exposure/strain"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/search"
)

// ClockStep is how often along a walk the clock is looked at: opening hours and
// bells fall on such marks, profiles on whole hours.
const ClockStep = 10 * time.Minute

// Prices are what the arcs of a reach cost one dog, by stretch of the clock.
type Prices struct {
	Sums    *exposure.Sums
	TimeS   []float32   // per local arc
	Hazard  [][]float32 // per stretch and edge of the reach: expected reactions a second
	Strain  [][]float32 // per stretch and edge of the reach: strain a second, at its price
	Cross   []float32   // per local arc: strain of crossing wide roads on it
	Cost    [][]float32 // per stretch and local arc: what a search makes small, expected reactions and strain as the taste weighs it
	ChangeS []float64   // instants at which the next stretch begins, since departure
	Moments []hours.Moment
}

// Taste is what a handler makes of traffic and ground beside expected reactions.
type Taste struct {
	Strain strain.Setting
	Soft   bool // rather on grass, earth and wood
	Away   bool // where nobody knows them: service roads have a price
}

// HardPerMin is the price of a minute on hard ground for who prefers soft ground, in
// expected reactions (our assumption): a third of a minute beside traffic with a
// pavement.
const HardPerMin = 0.003

// ServicePerMin is the price of a minute on a service road for who is not at home
// there, in expected reactions: it is somebody's, and the map does not say whose (our
// assumption: a minute on a pavement beside traffic). Beside grass or wood, as in a
// park, it has none.
const ServicePerMin = 0.01

// ServiceShare is how much of an edge counts as service road.
func (land *Land) ServiceShare(e int32) float64 {
	if land.Snap.Graph.Class[e] != osmdata.Service {
		return 0
	}
	return 1 - float64(land.Snap.Field.SoftShare[e])
}

// SumsFor adds up what the dog meets on each edge of the reach: it holds for every hour.
func (r *Reach) SumsFor(dog *exposure.Dog) *exposure.Sums {
	return r.Land.Snap.Field.Sums(dog, r.Edges)
}

// Price works out the costs of a reach for walks of up to horizonS seconds from
// a departure, from sums that may be shared between hours. Its cost is expected
// reactions alone.
func (r *Reach) Price(sums *exposure.Sums, dog *exposure.Dog, depart time.Time, fa *exposure.Factors, horizonS float64) *Prices {
	return r.PriceFor(Taste{Strain: strain.None}, sums, dog, depart, fa, horizonS)
}

// PriceFor is Price with what the taste adds to the cost.
func (r *Reach) PriceFor(taste Taste, sums *exposure.Sums, dog *exposure.Dog, depart time.Time, fa *exposure.Factors, horizonS float64) *Prices {
	c := &Prices{Sums: sums, TimeS: r.TimesS(dog.PaceMPS()), Cross: r.crossings()}
	end := depart.Add(time.Duration(horizonS * float64(time.Second)))
	for t := depart; t.Before(end); t = r.nextLook(t, taste) {
		m := r.Land.Clock.At(t)
		h, s := c.Sums.Hazard(m, fa, nil), r.Land.StrainAt(r.Edges, m)
		if n := len(c.Hazard); n > 0 && slices.Equal(h, c.Hazard[n-1]) && (taste.Strain.Weight() == 0 || slices.Equal(s, c.Strain[n-1])) {
			continue
		}
		if len(c.Hazard) > 0 {
			c.ChangeS = append(c.ChangeS, t.Sub(depart).Seconds())
		}
		c.Hazard, c.Strain = append(c.Hazard, h), append(c.Strain, s)
		c.Moments = append(c.Moments, m)
		c.Cost = append(c.Cost, r.costs(taste, c, h, s))
	}
	return c
}

// nextLook is the instant at which the clock is looked at next: the next mark, or
// sunrise or sunset where the dark has a price.
func (r *Reach) nextLook(t time.Time, taste Taste) time.Time {
	next := t.Truncate(ClockStep).Add(ClockStep)
	if taste.Strain.Weight() == 0 {
		return next
	}
	rise, set, err := r.Land.Clock.Sun(hours.DateOf(t.In(r.Land.Clock.Loc)), hours.Horizon)
	if err != nil {
		return next // the sun stays up or down all day
	}
	for _, at := range []time.Time{rise, set} {
		at = at.Truncate(time.Second).Add(time.Second) // light is told for after the crossing
		if at.After(t) && at.Before(next) {
			next = at
		}
	}
	return next
}

// StrainAt is the strain a second on edges at a moment: traffic beside them and its
// noise.
func (land *Land) StrainAt(edges []int32, m hours.Moment) []float32 {
	f, noise := land.Snap.Field, strain.NoiseAt(m)
	out := f.Roadside.PerS(edges, m, nil)
	for i, e := range edges {
		out[i] += float32(noise.PerS(float64(f.LevelDB[e])))
	}
	return out
}

// crossings is the strain of crossing wide roads on each arc.
func (r *Reach) crossings() []float32 {
	out := make([]float32, len(r.Piece))
	for a := range out {
		c := &r.Piece[a]
		out[a] = float32(strain.CrossingEach * r.Land.Snap.Field.Roadside.Crossings(c.Edge, c.FromM, c.ToM, r.Land.Snap.Graph.LengthM[c.Edge]))
	}
	return out
}

// costs is what each arc costs in a stretch of the clock.
func (r *Reach) costs(taste Taste, c *Prices, hazard, wear []float32) []float32 {
	out := r.ArcCosts(c.TimeS, hazard)
	if w := float32(taste.Strain.Weight()); w > 0 {
		for a := range out {
			out[a] += w * (c.TimeS[a]*wear[r.Piece[a].Slot] + c.Cross[a])
		}
	}
	if taste.Soft {
		for a := range out {
			hard := 1 - r.Land.Snap.Field.SoftShare[r.Piece[a].Edge]
			out[a] += c.TimeS[a] * hard * HardPerMin / 60
		}
	}
	if taste.Away {
		for a := range out {
			out[a] += c.TimeS[a] * float32(r.Land.ServiceShare(r.Piece[a].Edge)) * ServicePerMin / 60
		}
	}
	return out
}

// ArcCosts is time on each arc times the hazard of its edge.
func (r *Reach) ArcCosts(timeS, hazard []float32) []float32 {
	out := make([]float32, len(r.Piece))
	for a := range out {
		out[a] = timeS[a] * hazard[r.Piece[a].Slot]
	}
	return out
}

// StretchAt is the stretch of the clock that holds atS seconds after departure.
func (c *Prices) StretchAt(atS float64) int {
	i := len(c.ChangeS)
	for i > 0 && c.ChangeS[i-1] > atS {
		i--
	}
	return i
}

// Asker is who limits are kept for: where the walk begins, which dog, and what
// has been learnt.
type Asker struct {
	From    plane.Point
	Dog     *exposure.Dog
	Factors *exposure.Factors
}

// Bars says which arcs of a reach the limits forbid, and which limit forbids the
// most length: the one to name when nothing is left.
func (r *Reach) Bars(l *Limits, by Asker, c *Prices) (barred []bool, worst Limit) {
	barred, worst, _ = r.BarsAnd(KeptOff, l, by, c)
	return barred, worst
}

// BarsAnd is Bars with the sorts of ground to keep off, of which it gives those that
// there are here.
func (r *Reach) BarsAnd(off Ground, l *Limits, by Asker, c *Prices) (barred []bool, worst Limit, there Ground) {
	byEdge := make([]bool, len(r.Edges))
	length := map[Limit]float64{}
	ban := func(slot int, limit Limit) {
		byEdge[slot] = true
		length[limit] += float64(r.Land.Snap.Graph.LengthM[r.Edges[slot]])
	}
	dark := slices.ContainsFunc(c.Moments, func(m hours.Moment) bool { return m.Light() != hours.Daylight })
	for _, b := range l.barriers(by.From, dark) {
		for slot, e := range r.Edges {
			if b.banned(r.Land, e) {
				ban(slot, Limit{What: b.limit})
			}
		}
	}
	r.barSources(l, by, c, ban)
	if l.AnyGround {
		off &^= KeptOff | Precincts
	}
	there = r.closeGround(off, c.Moments, byEdge)
	if len(length) == 0 && there == 0 {
		return nil, Limit{}, 0
	}
	r.letOut(byEdge)
	for limit, m := range length {
		if worst == (Limit{}) || m > length[worst] || m == length[worst] && limit.String() < worst.String() {
			worst = limit
		}
	}
	barred = make([]bool, len(r.Piece))
	for a := range barred {
		barred[a] = byEdge[r.Piece[a].Slot]
	}
	return barred, worst, there
}

// ActiveLimit is the probability of somebody being there from which on a fixed
// source is kept away from (our assumption).
const ActiveLimit = 0.2

// barSources forbids the edges too near to sources that are likely active at any
// time of the walk.
func (r *Reach) barSources(l *Limits, by Asker, c *Prices, ban func(slot int, limit Limit)) {
	f := r.Land.Snap.Field
	type keep struct {
		m     float64
		limit Limit
	}
	kept := map[int32]keep{}
	for slot, e := range r.Edges {
		for t := range f.TouchesOf(e) {
			k, known := kept[t.Source]
			if !known {
				k.m, k.limit = r.Land.keepFrom(l, by.Dog, t.Source)
				if k.m > 0 && !r.Land.likelyActive(by, c, t.Source) {
					k.m = 0
				}
				kept[t.Source] = k
			}
			if k.m > 0 && float64(t.DistM) < k.m && (t.InSight || r.Land.heard(t.Source)) {
				ban(slot, k.limit)
			}
		}
	}
}

func (land *Land) likelyActive(by Asker, c *Prices, source int32) bool {
	return slices.ContainsFunc(c.Moments, func(m hours.Moment) bool {
		return land.Snap.Field.Active(source, by.Dog, m, by.Factors) > ActiveLimit
	})
}

// heard says that something at a source counts without being seen.
func (land *Land) heard(source int32) bool {
	return slices.ContainsFunc(land.Snap.Field.Source(source).Mix, func(m exposure.Presence) bool { return m.Kind.Info().Heard })
}

// letOut frees the cheapest way out of a forbidden zone that the start lies in,
// so that a walk can begin at all; it is the first leg and said so.
func (r *Reach) letOut(barred []bool) {
	if !r.enclosed(barred) {
		return
	}
	for _, slot := range r.shortestExit(barred) {
		barred[slot] = false
	}
}

// enclosed says that every arc out of the door is forbidden.
func (r *Reach) enclosed(barred []bool) bool {
	for a := r.Star.First[r.Door]; a < r.Star.First[r.Door+1]; a++ {
		if !barred[r.Piece[a].Slot] {
			return false
		}
	}
	return true
}

// shortestExit lists the edges of the shortest way from the door, through
// forbidden ground only, to a vertex with a free arc; nil if there is none.
func (r *Reach) shortestExit(barred []bool) (slots []int32) {
	lengthM, free := make([]float32, len(r.Piece)), make([]bool, len(r.Piece))
	for a := range r.Piece {
		lengthM[a], free[a] = r.Piece[a].LengthM, !barred[r.Piece[a].Slot]
	}
	router, err := search.NewRouter(&r.Star)
	if err != nil {
		return nil
	}
	tree, err := router.Reach([]search.Source{{Vertex: r.Door}}, lengthM, search.Span{Cutoff: math.Inf(1), Barred: free})
	if err != nil {
		return nil
	}
	defer tree.Release()
	for _, v := range tree.Settled {
		if slices.Contains(free[r.Star.First[v]:r.Star.First[v+1]], true) {
			for _, a := range tree.Path(nil, v) {
				slots = append(slots, r.Piece[a].Slot)
			}
			return slots
		}
	}
	return nil
}
