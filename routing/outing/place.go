package outing

import (
	"cmp"
	"math"
	"slices"
)

// minutes works out the minutes at which a dog could start a loop, dogs only.
func (f *finder) minutes(d, loop int) {
	f.tried++
	f.free.fill(f.firstMin, min(f.lastMin, f.dogs[d].until)-f.walkMin[loop])
	f.house(d, loop)
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
		f.ends[i], f.twice[i] = 0, 0
	}
	for p := range f.people {
		t, s := &f.people[p], f.able[p]
		clear(s)
		if t.experience < f.dogs[d].least || f.dogs[d].never != nil && p < len(f.dogs[d].never) && f.dogs[d].never[p] {
			continue
		}
		s.fill(t.from, t.to-f.walkMin[loop])
		for e := range f.now {
			if at := &f.now[e]; e != d && at.loop >= 0 && at.has(p) {
				s.drop(at.start-f.busyMin[loop]+1, at.start+f.busyMin[at.loop]-1)
			}
		}
		for i := range s {
			f.twice[i] |= f.ends[i] & s[i]
			f.ends[i] |= s[i]
		}
	}
	staffed := f.ends
	if f.dogs[d].both {
		staffed = f.twice
	}
	for i := range f.free {
		f.free[i] &= staffed[i]
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
func (f *finder) cheapest(o *option, wait, noise float64) (half int, cost float64) {
	half, cost = -1, math.Inf(1)
	for at := f.free.next(0); at >= 0; {
		h := at / slotMinutes
		x := o.at(at) + wait*float64(at)
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

// by is who walks a loop that starts then, -1 for nobody: the least experienced of those
// who can; where loads are to be fair, who has least to do for the hours. Not but.
func (f *finder) by(d, loop, start, but int) int {
	if f.fair > 0 {
		f.load = append(f.load[:0], make([]float64, len(f.people))...)
		for e := range f.now {
			if at := &f.now[e]; e != d && at.loop >= 0 && at.person >= 0 {
				f.load[at.person] += float64(f.walkMin[at.loop])
				if at.second > 0 {
					f.load[at.second-1] += float64(f.walkMin[at.loop])
				}
			}
		}
		for p := range f.people {
			f.load[p] += f.people[p].walkedMin
		}
	}
	best := -1
	for p := range f.people {
		if p == but || !f.able[p].has(start) || f.breaks && !f.rests(p, d, loop, start) {
			continue
		}
		if best < 0 || f.before(p, best) {
			best = p
		}
	}
	return best
}

// before says that one person is asked before another.
func (f *finder) before(p, q int) bool {
	a, b := &f.people[p], &f.people[q]
	if f.fair > 0 {
		x, y := f.load[p]*max(1, b.hoursMin()), f.load[q]*max(1, a.hoursMin())
		if x != y {
			return x < y
		}
	}
	if a.experience != b.experience {
		return a.experience < b.experience
	}
	return a.hoursMin() < b.hoursMin()
}

// rests says that somebody who is there for long has a break between the first and the
// last hour, with one walk more.
func (f *finder) rests(p, d, loop, start int) bool {
	t := &f.people[p]
	if t.to-t.from < breakFromMin {
		return true
	}
	f.spans = append(f.spans[:0], [2]int{start, start + f.busyMin[loop]})
	for e := range f.now {
		if at := &f.now[e]; e != d && at.loop >= 0 && at.has(p) {
			f.spans = append(f.spans, [2]int{at.start, at.start + f.busyMin[at.loop]})
		}
	}
	return longestGap(f.spans, t.from+60, t.to-60) >= breakMin
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
func (f *finder) put(d int, greedy bool) {
	if f.was != nil && f.was[d].loop >= 0 && (greedy || f.rng.IntN(4) > 0) && f.again(d) {
		return
	}
	noise := 0.0
	if !greedy {
		noise = priceNoise
		if f.rng.Float64() < wildShare {
			noise = wildNoise
		}
	}
	f.rank(d, noise)
	first := !greedy && f.rng.Float64() < anyShare
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
		before := bestCost
		if first {
			bestCost = 0
		} else if half, cost := f.cheapest(o, f.dogs[d].wait, noise); cost < bestCost {
			bestCost = cost
			f.free.drop(0, half*slotMinutes-1)
			f.free.drop((half+1)*slotMinutes, f.lastMin)
		} else {
			continue
		}
		start := f.pick(greedy)
		at := placement{loop: o.loop, start: start, person: f.by(d, o.loop, start, -1)}
		if f.dogs[d].both && at.person >= 0 {
			at.second = f.by(d, o.loop, start, at.person) + 1
		}
		if at.person < 0 || f.dogs[d].both && at.second == 0 { // nobody who could would have a break
			bestCost = before
			continue
		}
		best = at
	}
	f.now[d] = best
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
	if was.person < 0 || !f.mans(d, was) {
		return false
	}
	f.now[d] = was
	return true
}

// mans says that the people of a placement can walk the dog; staff must have been asked.
func (f *finder) mans(d int, at placement) bool {
	if f.dogs[d].both != (at.second > 0) {
		return false
	}
	for _, p := range [2]int{at.person, at.second - 1} {
		if p >= 0 && (!f.able[p].has(at.start) || f.breaks && !f.rests(p, d, at.loop, at.start)) {
			return false
		}
	}
	return true
}
