package routing

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"slices"
)

// A timetable is searched by ruin and recreate (Schrimpf et al. 2000, Journal of
// Computational Physics 159:139-171): a few dogs near one time are taken out and
// put back in random order, and the result is kept or not by annealing. Planning
// dog by dog in space and time, and giving each dog a sector of its own, were
// measured too: both serve fewer dogs at more expected reactions.

// placement is one dog's place in a timetable.
type placement struct {
	loop   int // -1: not served
	start  int // minute of the outing
	person int
}

var unplaced = placement{loop: -1, person: -1}

// problem is a timetable to be searched: numbers only. Minutes count from the
// start of the outing.
type problem struct {
	table    *table // nil: dogs need not be kept apart
	lastMin  int    // last minute at which a walk may end
	firstMin int    // first at which one may start
	busyMin  []int  // per loop: from start until the person can take the next dog
	walkMin  []int  // per loop: until the latest end
	dogs     []dogTask
	people   []personTask
	class    [][]int     // per pair of dogs: class of separation, -1 if they may meet
	change   float64     // price of a walk that differs from before
	was      []placement // per dog: before, nil if there is no before
	fixed    []bool      // walks that stay as they were, nil for none
}

// dogTask is a dog to be placed.
type dogTask struct {
	least    Experience
	options  []option // loops that suit, cheapest first
	byLoop   []int    // per loop of the pool: its option, -1 for none
	unserved float64  // price of leaving the dog in
}

// option is a loop that a dog may walk.
type option struct {
	loop  int
	least float64   // price at the cheapest hour: expected reactions and minutes missed
	cost  []float64 // price by half hour of the start
}

func (o *option) at(start int) float64 { return o.cost[min(start/slotMinutes, len(o.cost)-1)] }

// personTask is when somebody can walk dogs.
type personTask struct {
	experience Experience
	from, to   int
}

// finder searches one problem. Not for concurrent use.
type finder struct {
	*problem
	rng    *rand.Rand
	now    []placement
	cost   float64
	tried  int // walks tried: the work done
	free   slots
	ends   slots
	able   []slots // per person: minutes at which the walk tried could start
	order  []int
	noise  []noisy
	place  []int // dogs to be placed
	backup []placement
}

type noisy struct {
	key float64
	at  int
}

func newFinder(q *problem, seed uint64) *finder {
	words := q.lastMin/64 + 1
	f := &finder{problem: q, rng: rand.New(rand.NewPCG(seed, 0x6f7574696e67)), now: make([]placement, len(q.dogs)), free: make(slots, words), ends: make(slots, words)}
	for range q.people {
		f.able = append(f.able, make(slots, words))
	}
	f.reset()
	return f
}

// reset leaves only the fixed walks.
func (f *finder) reset() {
	for d := range f.now {
		f.now[d] = unplaced
		if f.held(d) {
			f.now[d] = f.was[d]
		}
	}
}

// price is what a placement of a dog costs.
func (f *finder) price(d int, at placement) float64 {
	t := &f.dogs[d]
	if f.held(d) {
		return 0
	}
	cost := t.unserved
	if at.loop >= 0 {
		cost = t.options[t.byLoop[at.loop]].at(at.start)
	}
	if f.was != nil && f.was[d].loop >= 0 && at != f.was[d] {
		cost += f.change
	}
	return cost
}

func (f *finder) total(all []placement) (sum float64) {
	for d, at := range all {
		sum += f.price(d, at)
	}
	return sum
}

// bound is less than any timetable can cost: every dog on its cheapest loop at its
// cheapest hour, alone.
func (q *problem) bound() (sum float64) {
	for d := range q.dogs {
		if q.fixed != nil && q.fixed[d] {
			continue
		}
		t := &q.dogs[d]
		least := t.unserved
		if len(t.options) > 0 {
			least = min(least, t.options[0].least)
		}
		sum += least
	}
	return sum
}

// minutes works out the minutes at which a dog could start a loop, dogs only.
func (f *finder) minutes(d, loop int) {
	f.tried++
	f.free.fill(f.firstMin, f.lastMin-f.walkMin[loop])
	if f.table == nil {
		return
	}
	for e := range f.now {
		at := &f.now[e]
		if e == d || at.loop < 0 || f.class[d][e] < 0 {
			continue
		}
		f.free.dropShifted(f.table.set(at.loop, loop, f.class[d][e]), f.table.reach, at.start)
	}
}

// staff takes out of the free minutes those at which nobody can walk the loop.
func (f *finder) staff(d, loop int) {
	for i := range f.ends {
		f.ends[i] = 0
	}
	for p := range f.people {
		t, s := &f.people[p], f.able[p]
		clear(s)
		if t.experience < f.dogs[d].least {
			continue
		}
		s.fill(t.from, t.to-f.walkMin[loop])
		for e := range f.now {
			if at := &f.now[e]; e != d && at.loop >= 0 && at.person == p {
				s.drop(at.start-f.busyMin[loop]+1, at.start+f.busyMin[at.loop]-1)
			}
		}
		for i := range s {
			f.ends[i] |= s[i]
		}
	}
	for i := range f.free {
		f.free[i] &= f.ends[i]
	}
}

// pick chooses one of the free minutes: the first, the end of a free run, or any.
// The first alone packs badly.
func (f *finder) pick(greedy bool) int {
	if greedy {
		return f.free.first()
	}
	switch f.rng.IntN(3) {
	case 0:
		return f.free.first()
	case 1:
		f.free.ends(f.ends)
		return f.ends.nth(f.rng.IntN(f.ends.count()))
	}
	return f.free.nth(f.rng.IntN(f.free.count()))
}

// cheapest is the half hour with a free minute in which a loop costs least, with
// noise, and that cost.
func (f *finder) cheapest(o *option, noise float64) (half int, cost float64) {
	half, cost = -1, math.Inf(1)
	for at := f.free.next(0); at >= 0; {
		h := at / slotMinutes
		x := o.at(at)
		if noise > 0 {
			x *= 1 + noise*f.rng.Float64()
		}
		if x < cost {
			half, cost = h, x
		}
		at = f.free.next((h + 1) * slotMinutes)
	}
	return half, cost
}

// by is the least experienced person who can start then; of equals the one whose
// hours are shortest.
func (f *finder) by(start int) int {
	best := -1
	for p := range f.people {
		if !f.able[p].has(start) {
			continue
		}
		if best < 0 || f.people[p].experience < f.people[best].experience ||
			f.people[p].experience == f.people[best].experience && f.people[p].to-f.people[p].from < f.people[best].to-f.people[best].from {
			best = p
		}
	}
	return best
}

// How far the order in which loops are tried strays from their price: mostly a
// little, now and then as far as a loop that no price speaks for but that leaves
// room for others.
const (
	priceNoise = 0.15
	wildNoise  = 2.0
	wildShare  = 0.05
	anyShare   = 0.1 // of the time the first loop that is free at all will do
)

// put places a dog where it is cheapest, by price with some noise, among what is
// free.
func (f *finder) put(d int, greedy bool) bool {
	if f.was != nil && f.was[d].loop >= 0 && (greedy || f.rng.IntN(4) > 0) && f.again(d) {
		return true
	}
	noise := 0.0
	if !greedy {
		noise = priceNoise
		if f.rng.Float64() < wildShare {
			noise = wildNoise
		}
	}
	f.rank(d, noise)
	any := !greedy && f.rng.Float64() < anyShare
	best, bestCost := unplaced, math.Inf(1)
	for _, n := range f.noise {
		if n.key >= bestCost {
			break
		}
		o := &f.dogs[d].options[n.at]
		f.minutes(d, o.loop)
		if f.free.none() {
			continue
		}
		if f.staff(d, o.loop); f.free.none() {
			continue
		}
		if any {
			bestCost = 0
		} else if half, cost := f.cheapest(o, noise); cost < bestCost {
			bestCost = cost
			f.free.drop(0, half*slotMinutes-1)
			f.free.drop((half+1)*slotMinutes, f.lastMin)
		} else {
			continue
		}
		start := f.pick(greedy)
		best = placement{o.loop, start, f.by(start)}
	}
	f.now[d] = best
	return best.loop >= 0
}

// rank orders the loops of a dog by their price at the cheapest hour, with noise.
func (f *finder) rank(d int, noise float64) {
	t := &f.dogs[d]
	f.noise = f.noise[:0]
	for i := range t.options {
		key := t.options[i].least
		if noise > 0 {
			key *= 1 + noise*f.rng.Float64()
		}
		f.noise = append(f.noise, noisy{key, i})
	}
	slices.SortFunc(f.noise, func(a, b noisy) int { return cmp.Compare(a.key, b.key) })
}

// again places a dog as it was before, if that is free.
func (f *finder) again(d int) bool {
	was := f.was[d]
	f.minutes(d, was.loop)
	if !f.free.has(was.start) {
		return false
	}
	f.staff(d, was.loop)
	if was.person < 0 || !f.able[was.person].has(was.start) {
		return false
	}
	f.now[d] = was
	return true
}

// greedy fills the timetable from the dogs that are hardest to place.
func (f *finder) greedy() {
	order := f.loose()
	slices.SortStableFunc(order, func(a, b int) int {
		x, y := &f.dogs[a], &f.dogs[b]
		if x.least != y.least {
			return int(y.least) - int(x.least)
		}
		return f.widest(b) - f.widest(a)
	})
	for _, d := range order {
		if f.now[d].loop < 0 {
			f.put(d, true)
		}
	}
	f.cost = f.total(f.now)
}

// widest is the sum of a dog's classes of separation: how much it is in the way.
func (f *finder) widest(d int) (sum int) {
	for _, c := range f.class[d] {
		sum += c
	}
	return sum
}

// loose are the dogs that may be moved.
func (f *finder) loose() []int {
	f.order = f.order[:0]
	for d := range f.now {
		if !f.held(d) {
			f.order = append(f.order, d)
		}
	}
	return f.order
}

const (
	mostRuined  = 6
	startHeat   = 0.1 // of the cost of one dog
	endHeat     = 0.01
	anneals     = 3    // restarts within the budget
	goodEnough  = 1e-3 // as near to the bound as this the search ends
	ruinNearest = 2.0 / 3
)

// run searches within a budget of walks tried and gives the best timetable found.
func (f *finder) run(ctx context.Context, budget int) []placement {
	best, bestCost := []placement(nil), math.Inf(1)
	bound := f.bound()
	keep := func() {
		if f.cost < bestCost-1e-12 {
			best, bestCost = append(best[:0], f.now...), f.cost
		}
	}
	for round := range anneals {
		f.reset()
		if round == 0 {
			f.greedy()
		} else {
			f.shuffled()
		}
		keep()
		if len(f.loose()) == 0 {
			break
		}
		from, until := f.tried, budget*(round+1)/anneals
		heat0 := startHeat * f.typical()
		for f.tried < until && bestCost > bound*(1+goodEnough) {
			before := f.tried
			gone := float64(f.tried-from) / float64(max(1, until-from))
			f.move(heat0 * math.Pow(endHeat, gone))
			keep()
			if f.tried == before {
				f.tried++
			}
			if f.tried>>12 != before>>12 && ctx.Err() != nil {
				return best
			}
		}
	}
	return best
}

// typical is the middle price of a served dog at its best.
func (f *finder) typical() float64 {
	var each []float64
	for d := range f.dogs {
		if o := f.dogs[d].options; len(o) > 0 {
			each = append(each, o[0].least)
		}
	}
	if len(each) == 0 {
		return 0
	}
	slices.Sort(each)
	return each[len(each)/2]
}

// shuffled fills the timetable in random order.
func (f *finder) shuffled() {
	f.place = append(f.place[:0], f.loose()...)
	f.rng.Shuffle(len(f.place), func(i, j int) { f.place[i], f.place[j] = f.place[j], f.place[i] })
	for _, d := range f.place {
		f.put(d, false)
	}
	f.cost = f.total(f.now)
}

// move takes some dogs out, puts them and all that are not served back, and keeps
// the result or not.
func (f *finder) move(heat float64) {
	f.backup = append(f.backup[:0], f.now...)
	f.ruin()
	f.rng.Shuffle(len(f.place), func(i, j int) { f.place[i], f.place[j] = f.place[j], f.place[i] })
	for _, d := range f.place {
		f.put(d, false)
	}
	cost := f.total(f.now)
	if cost <= f.cost || f.rng.Float64() < math.Exp((f.cost-cost)/max(heat, 1e-12)) {
		f.cost = cost
		return
	}
	copy(f.now, f.backup)
}

// ruin takes one to six dogs out, mostly such as walk near one time.
func (f *finder) ruin() {
	order := f.loose()
	n := 1 + f.rng.IntN(min(mostRuined, len(order)))
	if f.rng.Float64() < ruinNearest {
		mid := f.firstMin + f.rng.IntN(max(1, f.lastMin-f.firstMin))
		slices.SortStableFunc(order, func(a, b int) int { return f.away(a, mid) - f.away(b, mid) })
	} else {
		f.rng.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
	}
	f.place = f.place[:0]
	for i, d := range order {
		if i < n || f.now[d].loop < 0 {
			f.now[d] = unplaced
			f.place = append(f.place, d)
		}
	}
}

// away is how many minutes a dog's start lies from a time.
func (f *finder) away(d, mid int) int {
	if f.now[d].loop < 0 {
		return math.MaxInt32
	}
	return max(f.now[d].start-mid, mid-f.now[d].start)
}

// served is the number of dogs placed.
func served(all []placement) (n int) {
	for _, p := range all {
		if p.loop >= 0 {
			n++
		}
	}
	return n
}
