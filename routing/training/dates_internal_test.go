package training

import (
	"math"
	"slices"
	"testing"
	"time"
	_ "time/tzdata"

	"pgregory.net/rapid"

	"wideberth/exposure/learning"
	"wideberth/osmdata/plane"
)

// TestEarliestDates: one visit a week and two on a step by common practice, on the weekday
// and at the hour that the step was reckoned for, also over the change of clocks: in New York
// it is on the first of November 2026 (IANA time zone database).
func TestEarliestDates(t *testing.T) {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	day := func(month time.Month, day, hour int) time.Time {
		return time.Date(2026, month, day, hour, 30, 0, 0, zone)
	}
	seq := &Sequence{}
	for _, at := range []time.Time{day(10, 21, 7), day(10, 20, 17), day(10, 21, 7), day(10, 24, 12)} {
		seq.Visits = append(seq.Visits, Visit{Option: Option{Arrive: at}})
	}
	for each, want := range map[int][]time.Time{
		1: {day(10, 21, 7), day(11, 3, 17), day(11, 4, 7), day(11, 14, 12)},
		2: {day(10, 21, 7), day(11, 10, 17), day(11, 18, 7), day(12, 5, 12)},
		3: {day(10, 21, 7), day(11, 17, 17), day(12, 2, 7), day(12, 26, 12)},
	} {
		seq.date(each)
		for i := range want {
			if got := seq.Visits[i].Earliest; !got.Equal(want[i]) || got.Weekday() != seq.Visits[i].Arrive.Weekday() {
				t.Errorf("%d a step: step %d on %v, want %v", each, i+1, got, want[i])
			}
		}
	}
	if (&Wish{}).visitsEach() != 2 || (&Wish{Each: 3}).visitsEach() != 3 {
		t.Error("two good visits on a step are common practice, and the account may want others")
	}
	(&Sequence{}).date(2) // nothing to date
}

// TestSameHour: two hours apart, round the clock, whatever the day.
func TestSameHour(t *testing.T) {
	at := func(day, hour, minute int) *Option {
		return &Option{Arrive: time.Date(2026, 11, day, hour, minute, 0, 0, time.UTC)}
	}
	for _, c := range []struct {
		a, b *Option
		want bool
	}{
		{at(25, 7, 30), at(26, 7, 30), true}, {at(25, 7, 30), at(25, 9, 29), true}, {at(25, 7, 30), at(25, 9, 30), false}, {at(25, 12, 0), at(28, 18, 0), false},
		{at(25, 23, 30), at(26, 0, 30), true}, {at(25, 23, 30), at(26, 1, 30), false}, {at(25, 0, 0), at(25, 23, 59), true},
	} {
		if sameHour(c.a, c.b) != c.want || sameHour(c.b, c.a) != c.want {
			t.Errorf("%v and %v: want %v", c.a.Arrive, c.b.Arrive, c.want)
		}
	}
}

// TestSpreadAgainstAllOptions: whatever the options, a chain stays in its order, as near,
// with its pins, within what was not dropped; a step is moved only away from the hour of the
// one before, to what costs least of all that could stand there, and stays at one hour only
// if nothing could.
func TestSpreadAgainstAllOptions(t *testing.T) {
	moved, stuck := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		tr := &training{w: &Wish{Farthest: 2, Nearest: 1}, dropped: map[visitKey]bool{}}
		for i, o := range drawOptions(t, 14) {
			o.At = plane.Point{X: float64(100 * i)}
			o.Arrive = time.Date(2026, 11, 25, rapid.SampledFrom([]int{7, 8, 12, 17}).Draw(t, "hour"), 30, 0, 0, time.UTC)
			if rapid.IntRange(0, 5).Draw(t, "met") == 0 {
				o.Meeting = &Meeting{}
			}
			for k := range rapid.IntRange(1, 3).Draw(t, "hours") { // a place at several hours
				o.Arrive = o.Arrive.Add(time.Duration(3*k) * time.Hour)
				o.AboutX = float64(rapid.IntRange(0, 150).Draw(t, "hundredths")) / 100
				tr.fit = append(tr.fit, o)
				if rapid.IntRange(0, 5).Draw(t, "dropped") == 0 {
					tr.dropped[o.key()] = true
				}
			}
		}
		order := rapid.SampledFrom([]Strictness{OneHarder, NeverEasier, NearerAndEase}).Draw(t, "order")
		var chain []Option
		for _, o := range tr.fit {
			if !tr.dropped[o.key()] && (len(chain) == 0 || order.allows(&chain[len(chain)-1], &o)) {
				chain = append(chain, o)
			}
		}
		out := tr.spread(chain, order)
		if len(out) != len(chain) {
			t.Fatalf("%d steps of %d", len(out), len(chain))
		}
		for i := range out {
			a := &out[i]
			if tr.dropped[a.key()] || a.Class.Near != chain[i].Class.Near || a.Pin != chain[i].Pin || a.Kept != chain[i].Kept || (a.Meeting == nil) != (chain[i].Meeting == nil) {
				t.Fatalf("step %d became %+v", i+1, a)
			}
			if i == 0 {
				continue
			}
			if !order.allows(&out[i-1], a) {
				t.Fatalf("no step from %+v to %+v", out[i-1].Class, a.Class)
			}
			could := slices.DeleteFunc(slices.Clone(tr.fit), func(o Option) bool {
				fits := !tr.dropped[o.key()] && o.Class.Near == chain[i].Class.Near && o.Pin == chain[i].Pin && o.Kept == chain[i].Kept && (o.Meeting == nil) == (chain[i].Meeting == nil) &&
					order.allows(&out[i-1], &o) && (i+1 == len(out) || order.allows(&o, &chain[i+1])) && !sameHour(&out[i-1], &o)
				if i+1 == len(out) && chain[i].Multiple <= 1.15 {
					fits = fits && o.Multiple <= 1.15 // as far as it led
				}
				return !fits
			})
			switch {
			case !sameHour(&out[i-1], &chain[i]):
				if a.key() != chain[i].key() {
					t.Fatalf("step %d was moved for nothing", i+1)
				}
			case len(could) == 0:
				if stuck++; a.key() != chain[i].key() {
					t.Fatalf("step %d was moved to the same hour", i+1)
				}
			default:
				moved++
				for _, o := range could {
					if o.BesidesX() < a.BesidesX() {
						t.Fatalf("step %d costs %g, and one that could stand there %g", i+1, a.BesidesX(), o.BesidesX())
					}
				}
				if sameHour(&out[i-1], a) {
					t.Fatalf("step %d stays at its hour", i+1)
				}
			}
		}
	})
	if moved == 0 || stuck == 0 {
		t.Errorf("%d moved, %d stuck: the draws hold nothing", moved, stuck)
	}
}

// TestOneHourIsTold: only where others were offered.
func TestOneHourIsTold(t *testing.T) {
	at := func(hour int) time.Time { return time.Date(2026, 11, 25, hour, 0, 0, 0, time.UTC) }
	chain := func(hours ...int) *Sequence {
		s := &Sequence{}
		for _, h := range hours {
			s.Visits = append(s.Visits, Visit{Option: Option{Arrive: at(h)}})
		}
		return s
	}
	for _, c := range []struct {
		offered, steps []int
		want           bool
	}{
		{[]int{7, 12}, []int{7, 12, 7}, false}, {[]int{7, 12}, []int{7, 7, 12}, true}, {[]int{7, 12}, []int{12, 7, 7}, true}, {[]int{7, 8}, []int{7, 7, 8}, false}, {[]int{7, 12}, []int{7}, false}, {[]int{7, 12}, nil, false},
	} {
		tr := &training{w: &Wish{}}
		for _, h := range c.offered {
			tr.w.Times = append(tr.w.Times, at(h))
		}
		if got := tr.oneHour(chain(c.steps...)); got != c.want {
			t.Errorf("offered %v, steps at %v: %v", c.offered, c.steps, got)
		}
	}
}

// TestDaysAfterABadOne: hours of a day of rest are taken out, those of a day for far steps
// stay and let nothing nearer than one and a half times, and each day is told once.
func TestDaysAfterABadOne(t *testing.T) {
	at := func(day, hour int) time.Time { return time.Date(2026, 11, day, hour, 0, 0, 0, time.UTC) }
	w := &Wish{Times: []time.Time{at(26, 7), at(26, 17), at(27, 7), at(28, 7), at(28, 17)}}
	w.Overs = []learning.Over{{At: at(25, 9), Harm: true}, {At: at(27, 10)}}
	told := w.rest(time.UTC)
	if want := []time.Time{at(27, 7), at(28, 7), at(28, 17)}; !slices.EqualFunc(w.Times, want, time.Time.Equal) {
		t.Errorf("left %v", w.Times)
	}
	if len(told) != 2 || !told[0].Day.Equal(at(26, 0)) || !told[0].Rest || !told[0].Harm || !told[1].Day.Equal(at(28, 0)) || told[1].Rest {
		t.Errorf("told %+v", told)
	}
	for _, c := range []struct {
		at       time.Time
		multiple float64
		want     bool
	}{{at(28, 7), 1.49, true}, {at(28, 7), 1.5, false}, {at(28, 7), 2, false}, {at(29, 7), 1, false}, {at(27, 7), 1, false}} {
		if w.tooNear(c.at, c.multiple) != c.want {
			t.Errorf("at %v %g is too near: %v", c.at, c.multiple, !c.want)
		}
	}
	none := &Wish{Times: []time.Time{at(26, 7)}}
	if told := none.rest(time.UTC); told != nil || len(none.Times) != 1 {
		t.Errorf("without a bad day: %v, %v", told, none.Times)
	}
}

// TestLinesOfAWish: from the farthest to the nearest, both among them wherever they lie on
// the list, each nearer by less than a third, and at most six.
func TestLinesOfAWish(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		far := float64(rapid.IntRange(20, 60).Draw(t, "far")) / 20
		near := float64(rapid.IntRange(10, int(20*far)).Draw(t, "near")) / 20
		lines := (&Wish{Farthest: far, Nearest: near}).lines()
		if len(lines) == 0 || len(lines) > 6 || math.Abs(lines[len(lines)-1]-near) > 1e-9 || lines[0] > far+1e-9 {
			t.Fatalf("%g to %g: %v", far, near, lines)
		}
		for i := 1; i < len(lines); i++ {
			if lines[i] >= lines[i-1] {
				t.Fatalf("%g to %g: %v", far, near, lines)
			}
		}
	})
	for _, c := range []struct {
		far, near float64
		want      []float64
	}{{2, 1, []float64{2, 1.75, 1.5, 1.25, 1}}, {3, 1, []float64{2.5, 2, 1.75, 1.5, 1.25, 1}}, {2, 1.1, []float64{2, 1.75, 1.5, 1.25, 1.1}}, {1.2, 1.1, []float64{1.1}}, {2, 0.5, []float64{2, 1.75, 1.5, 1.25, 1, 0.5}}} {
		if got := (&Wish{Farthest: c.far, Nearest: c.near}).lines(); !slices.Equal(got, c.want) {
			t.Errorf("%g to %g: %v", c.far, c.near, got)
		}
	}
}

// TestMisplacedSteps: set-ups belong to the near half, chance visits to the far one, give or
// take the share of a band.
func TestMisplacedSteps(t *testing.T) {
	for _, c := range []struct {
		multiple     float64
		chance, meet bool
	}{{2, false, true}, {1.6, false, true}, {1.5, false, false}, {1.36, false, false}, {1.2, true, false}, {1, true, false}} {
		o := Option{Place: Place{Vantage: Vantage{Multiple: c.multiple}}}
		if o.misplaced() != c.chance {
			t.Errorf("a chance visit at %g is misplaced: %v", c.multiple, !c.chance)
		}
		o.Meeting = &Meeting{}
		if o.misplaced() != c.meet {
			t.Errorf("a set-up at %g is misplaced: %v", c.multiple, !c.meet)
		}
	}
}
