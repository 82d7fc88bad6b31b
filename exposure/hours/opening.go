package hours

// State says what an opening_hours value holds at a moment.
type State uint8

// The three states of the opening_hours specification. A moment that no rule
// covers is Closed.
const (
	Closed State = iota
	Open
	Unknown
)

// String gives the state in the grammar's own word.
func (s State) String() string {
	switch s {
	case Open:
		return "open"
	case Unknown:
		return "unknown"
	}
	return "closed"
}

// Opening is a parsed opening_hours value. It is immutable and safe for
// concurrent use; Parse makes it.
type Opening struct {
	rules []rule
	// sunny: some span hangs on the sun, so the events are worth computing.
	sunny bool
}

// separator says how a rule meets the rules before it.
type separator uint8

const (
	overrides separator = iota // ";": replaces the earlier rules on its days
	adds                       // ",": adds its hours to theirs
	fallsBack                  // "||": counts only where they leave it closed
)

// rule is one rule_sequence of the grammar: on which days, at which minutes,
// what state. Empty selectors hold always; different selectors must all hold.
type rule struct {
	sep   separator
	state State
	years []yearRange
	dates []dateRange
	weeks []weekRange
	days  [][]daySelector // of each inner list one must hold
	spans []span
	// wipes: on its days the rule clears what the rules before it said.
	wipes bool
}

func (r *rule) dated() bool {
	return len(r.years)+len(r.dates)+len(r.weeks)+len(r.days) > 0
}

// covers tells if the rule holds on a day, whatever the minute.
func (r *rule) covers(d Date, cal *Calendar) bool {
	return holdsAny(r.years, func(y yearRange) bool { return y.covers(d) }) &&
		holdsAny(r.dates, func(x dateRange) bool { return x.covers(d) }) &&
		holdsAny(r.weeks, func(w weekRange) bool { return w.covers(d) }) &&
		r.coversWeekday(d, cal)
}

func (r *rule) coversWeekday(d Date, cal *Calendar) bool {
	for _, group := range r.days {
		if !holdsAny(group, func(s daySelector) bool { return s.covers(d, cal) }) {
			return false
		}
	}
	return true
}

// holdsAny is true for an empty selector, which in the grammar means all.
func holdsAny[T any](list []T, holds func(T) bool) bool {
	for _, item := range list {
		if holds(item) {
			return true
		}
	}
	return len(list) == 0
}

// answer is what the rules so far say about one minute, seen from one day.
type answer struct {
	state State
	said  bool // a rule said so
	timed bool // and named the hours, not only the day
}

// At gives the state at a moment, with the calendar, place and zone of the
// moment's clock.
//
// Rules are read in order, as the specification has it. Two things it leaves
// open are decided here: a span past midnight belongs to the day on which it
// starts, so that "Fr 22:00-02:00; Sa off" is open on Saturday at 01:00, and
// only a rule of the new day that names hours cuts it; and an open end
// ("08:00+") is Unknown to midnight, or for 10 h from 17:00 on and for 8 h
// from 22:00 on, which is how the reference evaluator guesses.
func (o *Opening) At(m Moment) State {
	var today, tail answer
	cal := m.clock.calendar()
	sun, sunBefore := o.events(m.clock, m.Date), o.events(m.clock, m.Date-1)
	for i := range o.rules {
		r := &o.rules[i]
		if r.covers(m.Date, cal) {
			r.apply(&today, merged(today, tail), m.Minute, sun)
		}
		if r.covers(m.Date-1, cal) {
			r.apply(&tail, merged(today, tail), m.Minute+minutesPerDay, sunBefore)
		}
	}
	return merged(today, tail).state
}

func (o *Opening) events(c *Clock, d Date) eventMinutes {
	if !o.sunny {
		return eventMinutes{}
	}
	return c.events(d)
}

func merged(today, tail answer) answer {
	if tail.said && !today.timed {
		return tail
	}
	return today
}

// apply lets a rule that covers the day speak about a minute counted from the
// day's midnight. Minutes beyond the day are reached by spans only.
func (r *rule) apply(a *answer, all answer, minute int, sun eventMinutes) {
	if r.sep == fallsBack && all.state != Closed {
		return
	}
	if r.wipes {
		*a = answer{}
	}
	if len(r.spans) == 0 {
		switch {
		case minute < minutesPerDay:
			*a = answer{state: r.state, said: true}
		case r.state == Closed: // "Mo off" also takes back Monday's night
			*a = answer{}
		}
		return
	}
	for _, s := range r.spans {
		if state, in := s.at(minute, r.state, sun); in {
			*a = answer{state: state, said: true, timed: true}
		}
	}
}
