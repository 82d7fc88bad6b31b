package outing

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wideberth/osmdata/plane"
)

// smallProblem is a random outing of a few dogs on a few loops from one gate.
func smallProblem(rng *rand.Rand, dogs, loops, minutes int) *problem {
	gate := plane.Point{}
	var tracks []track
	q := &problem{lastMin: minutes, fair: []float64{0, 0.4}[rng.IntN(2)], breaks: true}
	for range loops {
		p := func() plane.Point { return plane.Point{X: 500*rng.Float64() - 250, Y: 500*rng.Float64() - 250} }
		line, atS := timedLine(gate, p(), p(), gate)
		end := atS[3]
		b := band{Holds, []float64{math.Floor(end / 2)}}
		tracks = append(tracks, trackOf(line, atS, &b, gate, 60))
		q.walkMin = append(q.walkMin, int(math.Ceil(b.late(end)/60)))
		q.busyMin = append(q.busyMin, int(math.Ceil(end/slowPace/60+usualTurnMin)))
	}
	classM := []float64{0, 30, 60}
	q.table = newTable(context.Background(), tracks, classM)
	for range 2 {
		q.people = append(q.people, personTask{experience: Experience(rng.IntN(3)), from: rng.IntN(5), to: minutes - rng.IntN(5)})
	}
	for d := range dogs {
		t := dogTask{least: Experience(rng.IntN(2)), unserved: 40, byLoop: slices.Repeat([]int{-1}, loops), wait: 0.05 * rng.Float64(), until: minutes - rng.IntN(8)}
		if rng.IntN(3) == 0 {
			t.never = make([]bool, len(q.people))
			t.never[rng.IntN(len(q.people))] = true
		}
		for i := range loops {
			if rng.IntN(4) == 0 {
				continue
			}
			o := option{loop: i}
			for range minutes/slotMinutes + 1 {
				o.cost = append(o.cost, 1+5*rng.Float64())
			}
			o.least = slices.Min(o.cost)
			t.options = append(t.options, o)
		}
		slices.SortFunc(t.options, func(a, b option) int { return cmp.Compare(a.least, b.least) })
		for i := range t.options {
			t.byLoop[t.options[i].loop] = i
		}
		q.dogs = append(q.dogs, t)
		row := make([]int, dogs)
		for e := range row {
			row[e] = 1
			if d%2 == 1 || e%2 == 1 {
				row[e] = 2
			}
		}
		q.class = append(q.class, row)
	}
	return q
}

// fits says whether a dog may be placed so beside the dogs before it, by the rules
// written down plainly.
func fits(q *problem, all []placement, d int, at placement) bool {
	p := &q.people[at.person]
	if p.experience < q.dogs[d].least || at.start < max(q.firstMin, p.from) || at.start+q.walkMin[at.loop] > min(q.lastMin, p.to, q.dogs[d].until) {
		return false
	}
	if q.dogs[d].never != nil && q.dogs[d].never[at.person] || q.breaks && !hasBreak(q, all, d, at) {
		return false
	}
	for e, other := range all {
		if e == d || other.loop < 0 {
			continue
		}
		if q.table != nil && q.class[d][e] >= 0 && q.table.forbids(other.loop, at.loop, q.class[d][e], at.start-other.start) {
			return false
		}
		if other.person == at.person && at.start < other.start+q.busyMin[other.loop] && other.start < at.start+q.busyMin[at.loop] {
			return false
		}
	}
	return true
}

// hasBreak looks at every minute for the beginning of a quarter of an hour without a walk,
// between the first and the last hour of somebody who is there for two and a half.
func hasBreak(q *problem, all []placement, d int, at placement) bool {
	p := &q.people[at.person]
	if p.to-p.from < 150 {
		return true
	}
	busy := map[int]bool{}
	note := func(w placement) {
		for m := w.start; m < w.start+q.busyMin[w.loop]; m++ {
			busy[m] = true
		}
	}
	note(at)
	for e, w := range all {
		if e != d && w.loop >= 0 && w.person == at.person {
			note(w)
		}
	}
	for m := p.from + 60; m+15 <= p.to-60; m++ {
		free := true
		for k := range 15 {
			free = free && !busy[m+k]
		}
		if free {
			return true
		}
	}
	return false
}

// unfairness is the price of loads, written down a second time.
func unfairness(q *problem, all []placement) (sum float64) {
	load, walked, there := make([]float64, len(q.people)), 0.0, 0.0
	for _, at := range all {
		if at.loop >= 0 {
			load[at.person] += float64(q.walkMin[at.loop])
			walked += float64(q.walkMin[at.loop])
		}
	}
	for _, p := range q.people {
		there += float64(max(0, p.to-p.from))
	}
	for i, p := range q.people {
		if share := walked * float64(max(0, p.to-p.from)) / there; share > 0 {
			sum += q.fair * (load[i] - share) * (load[i] - share) / share
		}
	}
	return sum
}

// bruteForce is the least cost over every placement of every dog, cut only where
// the dogs left cannot make up for it.
func bruteForce(q *problem) float64 {
	f := newFinder(q, 1)
	rest := make([]float64, len(q.dogs)+1)
	for d := len(q.dogs) - 1; d >= 0; d-- {
		least := q.dogs[d].unserved
		for _, o := range q.dogs[d].options {
			for _, x := range o.cost {
				least = min(least, x)
			}
		}
		rest[d] = rest[d+1] + least
	}
	best := math.Inf(1)
	all := slices.Repeat([]placement{unplaced}, len(q.dogs))
	var grow func(d int, cost float64)
	grow = func(d int, cost float64) {
		if cost+rest[d] >= best-1e-9 {
			return
		}
		if d == len(q.dogs) {
			best = min(best, cost+unfairness(q, all))
			return
		}
		for _, o := range q.dogs[d].options {
			for start := 0; start <= q.lastMin; start++ {
				for p := range q.people {
					at := placement{loop: o.loop, start: start, person: p}
					if fits(q, all[:d], d, at) {
						all[d] = at
						grow(d+1, cost+f.price(d, at))
					}
				}
			}
		}
		all[d] = unplaced
		grow(d+1, cost+q.dogs[d].unserved)
	}
	grow(0, 0)
	return best
}

// TestAgainstBruteForce: up to four dogs, every placement tried.
func TestAgainstBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 7))
	unserved := 0
	for round := range 40 {
		dogs := 2 + round%3
		q := smallProblem(rng, dogs, 3, 38+rng.IntN(15))
		want := bruteForce(q)
		f := newFinder(q, uint64(round))
		best := f.run(context.Background(), 30_000)
		checkPlacements(t, q, best)
		if got := f.total(best); got > want+1e-9 || got < want-1e-9 {
			t.Errorf("round %d, %d dogs: search %.4f, brute force %.4f", round, dogs, got, want)
		}
		if want < f.bound()-1e-9 {
			t.Errorf("round %d: the bound %.4f lies above the best %.4f", round, f.bound(), want)
		}
		unserved += dogs - served(best)
	}
	if unserved == 0 {
		t.Error("every dog is served in every instance: too easy to show anything")
	}
}

// checkPlacements holds a solution against the rules.
func checkPlacements(t *testing.T, q *problem, all []placement) {
	t.Helper()
	for d, at := range all {
		if at.loop >= 0 && !fits(q, all, d, at) {
			t.Fatalf("dog %d at %+v breaks a rule beside %+v", d, at, all)
		}
	}
}

// TestBreaks: whoever is there for long has a break in the middle, however many dogs wait;
// with none to be kept nobody has.
func TestBreaks(t *testing.T) {
	q := smallProblem(rand.New(rand.NewPCG(6, 6)), 14, 6, 240)
	q.people, q.table = []personTask{{experience: Experienced, from: 0, to: 240}}, nil
	for d := range q.dogs {
		q.dogs[d].never, q.dogs[d].until = nil, 240
	}
	full := newFinder(q, 1).run(context.Background(), 20_000)
	checkPlacements(t, q, full)
	q.breaks = false
	more := newFinder(q, 1).run(context.Background(), 20_000)
	if served(more) < served(full) || served(full) < 4 {
		t.Errorf("%d dogs with a break, %d without", served(full), served(more))
	}
	q.breaks = true
	without := 0
	for d, at := range more {
		if at.loop >= 0 && !hasBreak(q, more, d, at) {
			without++
		}
	}
	if without == 0 {
		t.Error("a break is there anyhow: too easy to show anything")
	}
}

// TestOneDogFewer: a timetable without one of its dogs keeps the rules.
func TestOneDogFewer(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	placed := 0
	for range 10 {
		q := smallProblem(rng, 6, 5, 150)
		best := newFinder(q, 1).run(context.Background(), 5_000)
		placed += served(best)
		for d := range best {
			fewer := slices.Clone(best)
			fewer[d] = unplaced
			checkPlacements(t, q, fewer)
		}
	}
	if placed < 30 {
		t.Errorf("%d of 60 placed: too few to show anything", placed)
	}
}

// TestSameSeedSameTimetable: the budget counts work, not time.
func TestSameSeedSameTimetable(t *testing.T) {
	q := smallProblem(rand.New(rand.NewPCG(3, 3)), 8, 6, 120)
	a, b := newFinder(q, 5).run(context.Background(), 20_000), newFinder(q, 5).run(context.Background(), 20_000)
	if !slices.Equal(a, b) {
		t.Errorf("%v and %v", a, b)
	}
}

// TestBestIsKept: a search never ends worse than it began.
func TestBestIsKept(t *testing.T) {
	q := smallProblem(rand.New(rand.NewPCG(3, 8)), 8, 6, 100)
	f := newFinder(q, 5)
	f.reset()
	f.greedy()
	start := f.cost
	if got := newFinder(q, 5); got.total(got.run(context.Background(), 5_000)) > start+1e-9 {
		t.Error("the search ends worse than it began")
	}
}

// TestFixedStay: fixed walks keep their place, are no cost, and others keep clear.
func TestFixedStay(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	q := smallProblem(rng, 6, 5, 120)
	before := newFinder(q, 1).run(context.Background(), 10_000)
	q.was, q.fixed, q.firstMin, q.change = before, make([]bool, 6), 40, 3
	for d := range before {
		q.fixed[d] = before[d].loop >= 0 && before[d].start < 40
	}
	f := newFinder(q, 2)
	after := f.run(context.Background(), 10_000)
	for d := range after {
		if q.fixed[d] && after[d] != before[d] {
			t.Errorf("dog %d is under way and moved from %+v to %+v", d, before[d], after[d])
		}
		if !q.fixed[d] && after[d].loop >= 0 {
			if after[d].start < 40 {
				t.Errorf("dog %d starts in the past: %+v", d, after[d])
			}
			if !fits(q, after, d, after[d]) {
				t.Errorf("dog %d at %+v breaks a rule", d, after[d])
			}
		}
	}
}

// TestChangePrice: with a high price for changes nothing changes that need not.
func TestChangePrice(t *testing.T) {
	q := smallProblem(rand.New(rand.NewPCG(21, 8)), 6, 5, 120)
	f := newFinder(q, 1)
	f.shuffled()
	before := slices.Clone(f.now)
	q.was = before
	moved := map[float64]int{}
	for _, price := range []float64{0, 1000} {
		q.change = price
		for d, at := range newFinder(q, 2).run(context.Background(), 20_000) {
			if before[d].loop >= 0 && at != before[d] {
				moved[price]++
			}
		}
	}
	if moved[1000] != 0 || moved[0] == 0 {
		t.Errorf("walks moved: %v; want none at a high price and some at none", moved)
	}
}

// TestGivenUp: a search that is given up ends soon and gives what it has.
func TestGivenUp(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	q := smallProblem(rand.New(rand.NewPCG(5, 8)), 6, 5, 60)
	f := newFinder(q, 1)
	if best := f.run(ctx, 50_000_000); best == nil || f.tried > 100_000 {
		t.Errorf("%d walks tried after it was given up", f.tried)
	}
}
