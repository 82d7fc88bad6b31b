package training

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/dominikbraun/graph"

	"wideberth/osmdata/plane"
)

// noEasier says that a visit is at least as hard as another in every respect.
func noEasier(before, after StepClass) bool {
	return after.Near <= before.Near && after.Busy >= before.Busy && after.Room <= before.Room && after.Duration >= before.Duration
}

// harder counts the respects in which a visit is harder than another.
func harder(before, after StepClass) (n int) {
	h, _ := compare(before, after)
	return len(h)
}

// quarter says that a step comes nearer by at most a quarter.
func quarter(before, after *Option) bool {
	return after.Multiple >= mostStepShare*before.Multiple-1e-9
}

// stepAllowed is the loosest rule of steps: nearer, whatever else gets easier, or as
// near, not a metre farther and otherwise no easier; by at most a quarter.
func stepAllowed(before, after *Option) bool {
	if !quarter(before, after) {
		return false
	}
	if after.Class.Near < before.Class.Near {
		return true
	}
	return after.Class.Near == before.Class.Near && after.Multiple <= before.Multiple+1e-9 && after.Class != before.Class && noEasier(before.Class, after.Class)
}

// allows says whether an order of steps has a step from one visit to another.
func (s Strictness) allows(before, after *Option) bool {
	if !stepAllowed(before, after) {
		return false
	}
	switch s {
	case OneHarder:
		return noEasier(before.Class, after.Class) && harder(before.Class, after.Class) == 1
	case NeverEasier:
		return noEasier(before.Class, after.Class)
	}
	return true
}

// stepCost is the squared class steps that get harder, in all respects, plus half
// for the visit itself, in halves: many small steps are better than a few large
// ones. What gets easier costs a little, so that it is not done for nothing.
func stepCost(before, after StepClass) int {
	sum := 1
	for _, d := range [...]int{before.Near - after.Near, after.Busy - before.Busy, before.Room - after.Room, after.Duration - before.Duration} {
		if d > 0 {
			sum += 2 * d * d
		} else {
			sum -= d
		}
	}
	return sum
}

// steps are the options as vertices: one for each class, with its best option.
type steps struct {
	options []Option
	far     []int // where a sequence may begin
	near    []int // and end
	keeps   bool  // there are places to keep
	first   int   // class of distance wished for at its begin,
	last    int   // and at its end; 0 for any
	mixed   bool  // a helper is named
}

// steps groups the options that are left by class; halved leaves out set-ups of the far
// half and chance visits of the near one.
func (t *training) steps(halved bool) *steps {
	s := &steps{keeps: len(t.w.Keep) > 0, first: distanceClass(t.w.Farthest), last: distanceClass(t.w.Nearest), mixed: t.w.Helper != nil}
	at := map[[4]any]int{}
	for _, o := range t.options {
		if t.dropped[o.key()] || halved && o.misplaced() {
			continue
		}
		key := [4]any{o.Class, o.Pin, o.Kept, o.Meeting != nil}
		if i, ok := at[key]; !ok {
			at[key] = len(s.options)
			s.options = append(s.options, o)
		} else if cmp.Or(cmp.Compare(o.byCar(), s.options[i].byCar()), cmp.Compare(o.BesidesX(), s.options[i].BesidesX())) < 0 {
			s.options[i] = o
		}
	}
	s.thin()
	slices.SortStableFunc(s.options, func(a, b Option) int { return cmp.Compare(b.Multiple, a.Multiple) })
	for i := range s.options {
		m := s.options[i].Multiple
		if m >= t.w.Farthest*(1-completeShare) {
			s.far = append(s.far, i)
		}
		if m <= t.w.Nearest*(1+completeShare) {
			s.near = append(s.near, i)
		}
	}
	return s
}

// classesPerStep bounds the vertices for each distance; those that cost least are
// kept, and all pinned ones.
const classesPerStep = 7

func (s *steps) thin() {
	slices.SortStableFunc(s.options, func(a, b Option) int {
		return cmp.Or(cmp.Compare(bool01(b.asked()), bool01(a.asked())), cmp.Compare(a.byCar(), b.byCar()), cmp.Compare(a.BesidesX(), b.BesidesX()))
	})
	perStep := map[int]int{}
	s.options = slices.DeleteFunc(s.options, func(o Option) bool {
		perStep[o.Class.Near]++
		return perStep[o.Class.Near] > classesPerStep && !o.asked() && o.Meeting == nil
	})
}

func bool01(b bool) int {
	if b {
		return 1
	}
	return 0
}

// chain finds the sequence of least cost, in the strictest order that leads all
// the way; else, in the loosest, as far as it goes.
func (t *training) chain(seq *Sequence) []Option {
	if t.w.Helper != nil { // each half as it should be goes before a stricter order
		if s := t.steps(true); len(s.options) > 0 {
			if chain := s.whole(seq, t.pinsIn(s)); chain != nil {
				return chain
			}
		}
	}
	s := t.steps(false)
	if len(s.options) == 0 {
		return nil
	}
	pins := t.pinsIn(s)
	if chain := s.whole(seq, pins); chain != nil {
		return chain
	}
	if len(pins) == 0 {
		if chain := t.throughAll(); chain != nil {
			seq.Order, seq.Complete = NearerAndEase, true
			return chain
		}
	}
	seq.Order, seq.Complete = NearerAndEase, false
	far := s.far
	if len(far) == 0 {
		far = s.within(s.options[0].Multiple*(1-bandShare), math.Inf(1))
	}
	chain, err := s.path(NearerAndEase, far, []int{s.reachable(far)}, nil)
	if err != nil {
		return nil
	}
	return chain
}

// whole is the cheapest chain from the farthest to the nearest distance in the strictest
// order that has one, nil for none.
func (s *steps) whole(seq *Sequence, pins []int) []Option {
	if len(s.far) == 0 || len(s.near) == 0 {
		return nil
	}
	for _, order := range []Strictness{OneHarder, NeverEasier, NearerAndEase} {
		if chain, err := s.path(order, s.far, s.near, pins); err == nil {
			seq.Order, seq.Complete = order, true
			return chain
		}
	}
	return nil
}

// throughAll is the whole chain of least cost, in the loosest order, through all that
// keeps the limit: what was thinned out may hold the one step that is missing. So more
// to choose from never loses a sequence. nil where there is none.
func (t *training) throughAll() []Option {
	type stand struct {
		at plane.Point
		m  float64
	}
	best := map[stand]int{} // the hour and stay that cost least: no step asks for more
	var all []Option
	for _, o := range t.fit {
		if t.dropped[o.key()] {
			continue
		}
		key := stand{o.At, o.Multiple}
		if i, ok := best[key]; !ok {
			best[key] = len(all)
			all = append(all, o)
		} else if o.BesidesX() < all[i].BesidesX() {
			all[i] = o
		}
	}
	slices.SortStableFunc(all, func(a, b Option) int { return cmp.Compare(b.Multiple, a.Multiple) })
	cost, before := make([]int, len(all)), make([]int, len(all))
	end := -1
	for b := range all {
		cost[b], before[b] = math.MaxInt, -1
		if all[b].Multiple >= t.w.Farthest*(1-completeShare) {
			cost[b] = 0
		}
		for a := range b {
			if cost[a] == math.MaxInt || !NearerAndEase.allows(&all[a], &all[b]) {
				continue
			}
			if c := cost[a] + stepCost(all[a].Class, all[b].Class); c < cost[b] {
				cost[b], before[b] = c, a
			}
		}
		if cost[b] < math.MaxInt && all[b].Multiple <= t.w.Nearest*(1+completeShare) && (end < 0 || cost[b] < cost[end]) {
			end = b
		}
	}
	var chain []Option
	for i := end; i >= 0; i = before[i] {
		chain = append(chain, all[i])
	}
	slices.Reverse(chain)
	return chain
}

// reachable is the nearest option that steps lead to from some options, in the
// loosest order; options are sorted from the farthest.
func (s *steps) reachable(from []int) (last int) {
	seen, queue := make([]bool, len(s.options)), slices.Clone(from)
	for _, i := range from {
		seen[i] = true
	}
	for len(queue) > 0 {
		a := queue[0]
		queue = queue[1:]
		last = max(last, a)
		for b := range s.options {
			if !seen[b] && NearerAndEase.allows(&s.options[a], &s.options[b]) {
				seen[b] = true
				queue = append(queue, b)
			}
		}
	}
	return last
}

func (s *steps) within(lo, hi float64) (out []int) {
	for i := range s.options {
		if m := s.options[i].Multiple; m >= lo && m <= hi {
			out = append(out, i)
		}
	}
	return out
}

// pinsIn lists the pins that have an option, the farthest first.
func (t *training) pinsIn(s *steps) (pins []int) {
	for i := range s.options {
		if pin := s.options[i].Pin; pin > 0 && !slices.Contains(pins, pin) {
			pins = append(pins, pin)
		}
	}
	return pins
}

// asideCost is what a visit costs that is not at one of the places to keep: as
// much as a jump of two classes; driveCost one that is driven to: on foot goes first
// where both fit. Our assumptions.
const (
	asideCost = 8
	driveCost = 1
)

// short is what it costs to begin or end at another distance than was wished for: as
// much as a step so long.
func (s *steps) short(i, wished int) int {
	if wished == 0 {
		return 0
	}
	d := s.options[i].Class.Near - wished
	return 2 * d * d
}

func (s *steps) aside(i int) (cost int) {
	if s.keeps && !s.options[i].Kept {
		cost = asideCost
	}
	if s.mixed && s.options[i].misplaced() {
		cost += asideCost
	}
	return cost + driveCost*s.options[i].byCar()
}

// Weights of steps: among chains of one cost the one with fewer expected reactions,
// in hundredths, goes first, and among those still equal always the same one. The
// library searches in the order of a map, so that ties would fall by chance. The
// last part is a fixed pseudo-random number for each arc, which leaves one least
// path but with a chance of about 2^-16 (isolation lemma: Mulmuley, Vazirani &
// Vazirani 1987, Combinatorica 7:105-113, from memory). All three together stay
// under 2^53, exact in the library's floating point, for chains of 32 steps.
const (
	tieBits   = 16
	reactUnit = 1 << (tieBits + 5)
	costUnit  = reactUnit << 16
)

// tie is what is added to the weight of an arc between vertices of path's graph.
func (s *steps) tie(a, b int) int {
	x := uint64(a)<<32 | uint64(b)
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9 // the finalizer of splitmix64
	x = (x ^ x>>27) * 0x94d049bb133111eb
	react := int(math.Round(100 * s.options[b%len(s.options)].AboutX))
	return react*reactUnit + int(x>>(64-tieBits))
}

var errNoChain = errors.New("no chain of steps")

// path is the cheapest chain from one of some options to one of others through all
// pins in their order. The graph has a layer for each number of pins passed.
func (s *steps) path(order Strictness, from, to, pins []int) ([]Option, error) {
	n, layers := len(s.options), len(pins)+1
	begin, end := n*layers, n*layers+1
	g := graph.New(graph.IntHash, graph.Directed(), graph.Weighted())
	for v := range n*layers + 2 {
		if err := g.AddVertex(v); err != nil {
			return nil, err
		}
	}
	layerOf := func(layer, i int) int {
		if layer < len(pins) && s.options[i].Pin == pins[layer] {
			return layer + 1
		}
		return layer
	}
	var err error
	join := func(a, b, cost int) {
		err = errors.Join(err, g.AddEdge(a, b, graph.EdgeWeight(cost*costUnit+s.tie(a, b))))
	}
	quietest := math.MaxInt
	for _, i := range from {
		quietest = min(quietest, s.options[i].Class.Busy)
	}
	for _, i := range from {
		more := s.options[i].Class.Busy - quietest
		join(begin, layerOf(0, i)*n+i, 1+2*more*more+s.short(i, s.first)+s.aside(i))
	}
	for layer := range layers {
		for a := range n {
			for b := range n {
				if a != b && order.allows(&s.options[a], &s.options[b]) {
					join(layer*n+a, layerOf(layer, b)*n+b, stepCost(s.options[a].Class, s.options[b].Class)+s.aside(b))
				}
			}
		}
	}
	for _, i := range to {
		join((layers-1)*n+i, end, 1+s.short(i, s.last))
	}
	if err != nil {
		return nil, fmt.Errorf("order of steps: %w", err)
	}
	walk, err := graph.ShortestPath(g, begin, end)
	if err != nil || len(walk) < 3 {
		return nil, errNoChain
	}
	var chain []Option
	for _, v := range walk[1 : len(walk)-1] {
		chain = append(chain, s.options[v%n])
	}
	return chain, nil
}

// reduced lists which options are next harder than which, without what follows
// from the rest: the transitive reduction of the order.
func reduced(options []Option) (arcs [][2]int) {
	g := graph.New(graph.IntHash, graph.Directed())
	for i := range options {
		if g.AddVertex(i) != nil {
			return nil // vertices are their own numbers: none is twice there
		}
	}
	for a := range options {
		for b := range options {
			if ca, cb := options[a].Class, options[b].Class; ca != cb && noEasier(ca, cb) && g.AddEdge(a, b) != nil {
				return nil
			}
		}
	}
	r, err := graph.TransitiveReduction(g)
	if err != nil {
		return nil // the order has no rounds
	}
	edges, err := r.Edges()
	if err != nil {
		return nil
	}
	for _, e := range edges {
		arcs = append(arcs, [2]int{e.Source, e.Target})
	}
	slices.SortFunc(arcs, func(a, b [2]int) int { return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1])) })
	return arcs
}

// lacks says which of the distances asked for cannot be had, why, and what comes
// closest to them.
func (t *training) lacks(seq *Sequence) {
	for _, m := range trainingSteps {
		if m > t.w.Farthest*(1+1e-9) || m < t.w.Nearest*(1-1e-9) {
			continue
		}
		if l, ok := t.lack(m); ok {
			seq.Lacks = append(seq.Lacks, l)
		}
	}
	if t.ground != nil && len(t.ground.Setups) == 0 {
		seq.Lacks = append(seq.Lacks, Lack{Why: LackHelper, Ground: t.ground})
	}
	for i := range t.w.Pins {
		if !slices.ContainsFunc(seq.Visits, func(v Visit) bool { return v.Pin == i+1 }) {
			seq.Lacks = append(seq.Lacks, Lack{Why: LackPin, Pin: i + 1})
		}
	}
	if !seq.Complete && len(seq.Lacks) == 0 {
		seq.Lacks = append(seq.Lacks, Lack{Why: LackSteps})
	}
	if t.oneHour(seq) {
		seq.Lacks = append(seq.Lacks, Lack{Why: LackHourApart})
	}
}

// lack looks why there is no visit at about a distance; false if there is one.
func (t *training) lack(multiple float64) (l Lack, ok bool) {
	share := bandShare
	if multiple == t.w.Farthest || multiple == t.w.Nearest {
		share = completeShare // as a sequence may begin and end
	}
	lo, hi := math.Max(multiple*(1-share), t.w.Nearest), multiple*(1+share)
	in := func(m float64) bool { return m >= lo && m <= hi }
	if slices.ContainsFunc(t.fit, func(o Option) bool { return in(o.Multiple) && !t.dropped[o.key()] }) {
		return l, false
	}
	l = Lack{Multiple: multiple, Why: LackGround, MaxX: t.w.MaxX, Least: math.Inf(1), Idle: t.sieve.Sources - t.sieve.Active}
	if t.sieve.Active == 0 && l.Idle > 0 || slices.ContainsFunc(t.found, func(c Vantage) bool { return in(c.Multiple) }) {
		l.Why = LackHours
	}
	noWay := false
	for i := range t.shown {
		switch o := &t.shown[i]; {
		case !in(o.Multiple):
		case math.IsInf(o.AboutX, 1):
			noWay = true
		default:
			l.Why, l.Least = LackReactions, math.Min(l.Least, o.BesidesX())
		}
	}
	if l.Least <= t.w.MaxX || noWay && math.IsInf(l.Least, 1) {
		l.Why = LackWayIn // there was one until its ways were planned
	}
	for i := range t.found {
		if d := t.found[i].DistM; l.NextM == 0 || d < l.NextM {
			l.NextM = d
		}
	}
	gap := math.Inf(1)
	for i := range t.fit {
		if o := &t.fit[i]; o.Meeting == nil && !t.dropped[o.key()] && math.Abs(o.Multiple-multiple) < gap {
			gap, l.Instead = math.Abs(o.Multiple-multiple), o
		}
	}
	l.DistM = multiple * t.workingM()
	if math.IsInf(l.Least, 1) {
		l.Least = 0
	}
	return l, true
}

// workingM is the largest working distance of the kinds watched.
func (s *scout) workingM() (m float64) {
	for _, k := range s.kinds {
		m = math.Max(m, s.dog.Need(k).WorkingM)
	}
	return m
}
