package outing

import "slices"

// Lead is why the first walk of a timetable does not begin with the outing.
type Lead struct {
	Cause       LeadCause
	Dog, Person string  // of the first walk
	Minute      int     // of the outing at which it passes the gate
	FromMin     int     // of the outing from which somebody who may take the dog can leave
	SpareMin    int     // minutes sooner at which its walk, or all of them, would keep every rule; where spare or calmer
	All         bool    // that holds of the whole timetable, moved as one
	TakesMin    int     // from the first dog out to the last one home
	Other       string  // the dog in its way, where room
	NeedM       float64 // how far the two must stay apart
}

// LeadCause is why a first walk begins late; the list is closed.
type LeadCause string

// The causes.
const (
	LeadPeople LeadCause = "people" // nobody who may take the dog can leave sooner
	LeadRoom   LeadCause = "room"   // another dog would be too near
	LeadCalmer LeadCause = "calmer" // sooner, what the walks bring outweighs the wait
	LeadSpare  LeadCause = "spare"  // no rule and no price is against it: the outing has more minutes than the walks need
)

// lead says why the first walk begins when it does; nil if it begins with the outing, or
// nothing is walked.
func (s *scheme) lead(all []placement) *Lead {
	f := newFinder(&s.problem, s.o.Seed)
	got := f.lead(all)
	if got == nil {
		return nil
	}
	at := all[got.dog]
	l := &Lead{Cause: got.cause, Dog: s.o.Dogs[got.dog].Dog.Name, Person: s.o.People[at.person].Name, Minute: at.start,
		FromMin: got.from, SpareMin: got.spare, All: got.all}
	for _, p := range all {
		if p.loop >= 0 {
			l.TakesMin = max(l.TakesMin, p.start+s.walkMin[p.loop]-at.start)
		}
	}
	if got.cause == LeadRoom {
		l.Other, l.NeedM = s.o.Dogs[got.other].Dog.Name, s.o.separation(got.dog, got.other)
	}
	return l
}

// leading is a Lead in the numbers of a problem.
type leading struct {
	cause LeadCause
	dog   int // the first one out
	other int // the one in its way
	from  int
	spare int
	all   bool
}

// lead looks for the first cause that holds: people, then the price of all walks sooner
// or of the first alone, then the dogs in its way.
func (f *finder) lead(all []placement) *leading {
	d := firstOut(all)
	if d < 0 || all[d].start <= f.firstMin {
		return nil
	}
	out := &leading{dog: d, other: -1, from: f.soonest(d)}
	if out.from >= all[d].start {
		out.cause = LeadPeople
		return out
	}
	if n, gain, ok := f.sooner(all, everyDog); ok {
		out.spare, out.all = n, true
		out.cause = priced(gain)
		return out
	}
	if n, gain, ok := f.sooner(all, d); ok {
		out.spare = n
		out.cause = priced(gain)
		return out
	}
	if out.other = f.inTheWay(all, d, out.from); out.other >= 0 {
		out.cause = LeadRoom
		return out
	}
	out.cause = LeadPeople // who could leave sooner has other walks, or would have no break
	return out
}

func priced(gain float64) LeadCause {
	if gain < 0 {
		return LeadCalmer
	}
	return LeadSpare
}

// firstOut is the dog that passes the gate first, -1 for none.
func firstOut(all []placement) int {
	first := -1
	for d, at := range all {
		if at.loop >= 0 && (first < 0 || at.start < all[first].start) {
			first = d
		}
	}
	return first
}

// soonest is the first minute at which somebody who may take a dog is at the gate, or two
// are who take it together.
func (f *finder) soonest(d int) int {
	from, next := f.lastMin, f.lastMin
	for p := range f.people {
		t := &f.people[p]
		never := f.dogs[d].never
		if t.experience >= f.dogs[d].least && (never == nil || p >= len(never) || !never[p]) {
			from, next = min(from, t.from), min(next, max(from, t.from))
		}
	}
	if f.dogs[d].both {
		from = next
	}
	return max(from, f.firstMin)
}

// everyDog moves the whole timetable.
const everyDog = -1

// sooner moves all walks, or only one dog's, by as many minutes as every rule allows,
// and by fewer where that many would cost more than it saves and fewer do not.
func (f *finder) sooner(all []placement, only int) (minutes int, gain float64, ok bool) {
	for n := all[firstOut(all)].start - f.firstMin; n > 0; n-- {
		moved := slices.Clone(all)
		for d := range moved {
			if only < 0 || d == only {
				moved[d].start -= n
			}
		}
		if !f.keeps(moved) {
			continue
		}
		if saved := f.total(all) - f.total(moved); !ok || gain < 0 && saved >= 0 {
			minutes, gain, ok = n, saved, true
		}
	}
	return minutes, gain, ok
}

// keeps says that a timetable keeps every rule of the search.
func (f *finder) keeps(all []placement) bool {
	copy(f.now, all)
	for d, at := range all {
		if at.loop < 0 {
			continue
		}
		f.minutes(d, at.loop)
		if !f.free.has(at.start) {
			return false
		}
		f.staff(d, at.loop)
		if !f.mans(d, at) {
			return false
		}
	}
	return true
}

// inTheWay is the dog that takes most of the minutes before a dog's start from one on,
// -1 where none takes any.
func (f *finder) inTheWay(all []placement, d, from int) int {
	worst, most := -1, 0
	for e, at := range all {
		if e == d || at.loop < 0 || f.table == nil || f.class[d][e] < 0 {
			continue
		}
		taken := 0
		for m := from; m < all[d].start; m++ {
			if f.table.forbids(at.loop, all[d].loop, f.class[d][e], m-at.start) {
				taken++
			}
		}
		if taken > most {
			worst, most = e, taken
		}
	}
	return worst
}
