package training

import (
	"cmp"
	"math"
	"slices"
	"time"

	"wideberth/exposure/learning"
)

// Dates of steps. That visits are a week apart and that a step is stayed on for some good
// visits is common practice, as is that a dog is not trained at one hour of the day only:
// what it has learnt there it has learnt for then. How far apart hours are is our
// assumption.
const (
	visitEvery = 7 * 24 * time.Hour
	hoursApart = 2 * time.Hour
)

// visitsEach is how many visits a step takes at least.
func (w *Wish) visitsEach() int { return cmp.Or(w.Each, learning.DefaultRule().VisitsInARow) }

// date gives each visit the first day on which it can be due: one visit a week, as many on
// each step as the rule wants, on the weekday and at the hour that it was reckoned for.
func (seq *Sequence) date(each int) {
	for i := range seq.Visits {
		v := &seq.Visits[i]
		due := seq.Visits[0].Arrive.Add(time.Duration(i*each) * visitEvery)
		v.Earliest = v.Arrive
		for v.Earliest.Before(due) {
			v.Earliest = v.Earliest.AddDate(0, 0, 7) // the hour on the wall stays, whatever the clocks do
		}
	}
}

// sameHour says that two visits fall on about the same hour of the day.
func sameHour(a, b *Option) bool {
	day := func(t time.Time) time.Duration {
		return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute
	}
	apart := (day(a.Arrive) - day(b.Arrive)).Abs()
	return min(apart, 24*time.Hour-apart) < hoursApart
}

// spread moves steps of a chain to another hour of the day than the step before where
// something as near keeps limit and order there: the place that costs least.
func (t *training) spread(chain []Option, order Strictness) []Option {
	out := slices.Clone(chain)
	for i := 1; i < len(out); i++ {
		if !sameHour(&out[i-1], &out[i]) {
			continue
		}
		least, best := math.Inf(1), -1
		for k := range t.fit {
			o := &t.fit[k]
			switch {
			case t.dropped[o.key()], sameHour(&out[i-1], o), o.Class.Near != out[i].Class.Near, o.Pin != out[i].Pin, o.Kept != out[i].Kept, (o.Meeting == nil) != (out[i].Meeting == nil):
			case !order.allows(&out[i-1], o), i+1 < len(out) && !order.allows(o, &out[i+1]):
			case i+1 == len(out) && out[i].Multiple <= t.w.Nearest*(1+completeShare) && o.Multiple > t.w.Nearest*(1+completeShare):
			case o.BesidesX() < least:
				least, best = o.BesidesX(), k
			}
		}
		if best >= 0 {
			out[i] = t.fit[best]
		}
	}
	return out
}

// oneHour says that two steps, one after the other, fall on one hour of the day although
// others were offered.
func (t *training) oneHour(seq *Sequence) bool {
	offered := slices.ContainsFunc(t.w.Times, func(at time.Time) bool {
		return !sameHour(&Option{Arrive: t.w.Times[0]}, &Option{Arrive: at})
	})
	for i := 1; i < len(seq.Visits); i++ {
		if offered && sameHour(&seq.Visits[i-1].Option, &seq.Visits[i].Option) {
			return true
		}
	}
	return false
}

// rest takes out of the wish the hours of days that a dog rests on, and tells of these and
// of days that it keeps far on.
func (w *Wish) rest(zone *time.Location) (out []learning.Respite) {
	var left []time.Time
	for _, at := range w.Times {
		r, ok := learning.RespiteAt(w.Overs, at.In(zone))
		if ok && !slices.ContainsFunc(out, func(o learning.Respite) bool { return o.Day.Equal(r.Day) }) {
			out = append(out, r)
		}
		if !r.Rest {
			left = append(left, at)
		}
	}
	w.Times = left
	return out
}

// tooNear says that a step is nearer than a bad day lets the dog be at a time.
func (w *Wish) tooNear(at time.Time, multiple float64) bool {
	_, far := learning.RespiteAt(w.Overs, at)
	return far && multiple < learning.FarFrom*(1-1e-9)
}
