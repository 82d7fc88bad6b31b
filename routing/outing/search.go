package outing

import (
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
	second int // person that goes with them, from 1; 0 for nobody
}

// has says that a person is out with the dog.
func (p placement) has(person int) bool { return p.person == person || p.second == person+1 }

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
	fair     float64     // price of loads that are not by hours, 0 for none
	breaks   bool        // who is there for long has a break
	rulebook
}

// dogTask is a dog to be placed.
type dogTask struct {
	least    Experience
	options  []option // loops that suit, cheapest first
	byLoop   []int    // per loop of the pool: its option, -1 for none
	unserved float64  // price of leaving the dog in
	wait     float64  // price of a minute's wait
	until    int      // last minute at which its walk may end
	never    []bool   // per person: does not walk it; nil for none
	both     bool     // two people walk it
	rows     uint64   // of kennels that it passes, a bit each
	apart    Apart
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
	walkedMin  float64 // earlier in the week, like the next
	thereMin   float64
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
	twice  slots   // minutes that two people have
	able   []slots // per person: minutes at which the walk tried could start
	order  []int
	noise  []noisy
	place  []int // dogs to be placed
	backup []placement
	load   []float64 // per person, minutes
	spans  [][2]int  // of one person's walks
}

type noisy struct {
	key float64
	at  int
}

func newFinder(q *problem, seed uint64) *finder {
	words := q.lastMin/64 + 1
	f := &finder{problem: q, rng: rand.New(rand.NewPCG(seed, 0x6f7574696e67)), now: make([]placement, len(q.dogs)), free: make(slots, words), ends: make(slots, words), twice: make(slots, words)}
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
		if f.held(d) && !f.follows(d) {
			f.now[d] = f.was[d]
		}
	}
}

// price is what a placement of a dog costs.
func (f *finder) price(d int, at placement) float64 {
	t := &f.dogs[d]
	if f.held(d) || f.follows(d) {
		return 0
	}
	cost := t.unserved
	if at.loop >= 0 {
		cost = t.options[t.byLoop[at.loop]].at(at.start) + t.wait*float64(at.start)
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
	return sum + f.unfair(all)
}

// unfair is the price of loads that are not by hours: for each person the square of what
// the minutes differ by from a share by hours, over that share.
func (f *finder) unfair(all []placement) (sum float64) {
	if f.fair == 0 {
		return 0
	}
	f.load = append(f.load[:0], make([]float64, len(f.people))...)
	walked, there := 0.0, 0.0
	for _, at := range all {
		if at.loop >= 0 && at.person >= 0 {
			f.load[at.person] += float64(f.walkMin[at.loop])
			walked += float64(f.walkMin[at.loop])
			if at.second > 0 {
				f.load[at.second-1] += float64(f.walkMin[at.loop])
				walked += float64(f.walkMin[at.loop])
			}
		}
	}
	for p := range f.people {
		there += f.people[p].hoursMin()
		f.load[p] += f.people[p].walkedMin
		walked += f.people[p].walkedMin
	}
	if there == 0 {
		return 0
	}
	for p := range f.people {
		if share := walked * f.people[p].hoursMin() / there; share > 0 {
			sum += f.fair * (f.load[p] - share) * (f.load[p] - share) / share
		}
	}
	return sum
}

// hoursMin are the minutes that somebody is there, in the week so far and today.
func (p *personTask) hoursMin() float64 { return float64(max(0, p.to-p.from)) + p.thereMin }

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
	f.apartLast(order)
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
		if !f.held(d) && !f.follows(d) {
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
	f.apartLast(f.place)
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
	f.apartLast(f.place)
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
		if i < n || f.now[d].loop < 0 || f.shares != nil && f.dogs[d].apart != "" {
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
