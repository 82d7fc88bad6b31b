package outing

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/reach"
)

var tenOClock = time.Date(2026, 11, 28, 10, 0, 0, 0, time.UTC)

func minder(name string, m float64) Dog {
	return Dog{Dog: exposure.Dog{Name: name, ByCategory: map[exposure.Category]exposure.Need{exposure.Dogs: {WorkingM: m, ReactionM: m / 2}}}, Minutes: 30}
}

func goodWish() Wish {
	return Wish{Start: tenOClock, Minutes: 120, Dogs: []Dog{minder("Fern", 30), minder("Moss", 45)}, People: []Person{{Name: "Ada"}, {Name: "Bo", Experience: Experienced}}}
}

// TestWishesAtTheirBounds: what stands at a bound of an outing is taken, what lies past it is
// named with its field, its value and what to do.
func TestWishesAtTheirBounds(t *testing.T) {
	long := strings.Repeat("n", 81)
	for _, c := range []struct {
		what   string
		change func(o *Wish)
		want   fault.Problems
	}{
		{"as asked", func(*Wish) {}, nil},
		{"lower bounds", func(o *Wish) { o.Minutes, o.ZoneM, o.MinutePrice, o.TurnMin, o.Work = 15, 0, 1, 5, 1 }, nil},
		{"upper bounds", func(o *Wish) { o.Minutes, o.ZoneM, o.MinutePrice, o.TurnMin, o.Work = 720, 300, 100, 60, 20_000_000 }, nil},
		{"words", func(o *Wish) { o.Slack, o.Waiting = Printed, WaitNone }, nil},
		{"short", func(o *Wish) { o.Minutes = 14.9 }, fault.Problems{{Pointer: "/minutes", Value: "14.9", Mend: "let the outing last 15 to 720 minutes"}}},
		{"long", func(o *Wish) { o.Minutes = 720.5 }, fault.Problems{{Pointer: "/minutes", Value: "720.5", Mend: "let the outing last 15 to 720 minutes"}}},
		{"zone", func(o *Wish) { o.ZoneM = 300.5 }, fault.Problems{{Pointer: "/zone_m", Value: "300.5", Mend: "give a radius of up to 300 m, or leave it out"}}},
		{"cheap", func(o *Wish) { o.MinutePrice = 0.9 }, fault.Problems{{Pointer: "/minute_price", Value: "0.9", Mend: "give 1 to 100 times a dog's own expected reactions a minute, or leave it out"}}},
		{"dear", func(o *Wish) { o.MinutePrice = 100.5 }, fault.Problems{{Pointer: "/minute_price", Value: "100.5", Mend: "give 1 to 100 times a dog's own expected reactions a minute, or leave it out"}}},
		{"turn", func(o *Wish) { o.TurnMin = 60.5 }, fault.Problems{{Pointer: "/turn_minutes", Value: "60.5", Mend: "give 5 to 60 minutes, or leave it out"}}},
		{"words that are none", func(o *Wish) { o.Slack, o.Waiting = "Holds", "long" }, fault.Problems{{Pointer: "/slack", Value: "Holds", Mend: "use holds, printed or free"}, {Pointer: "/waiting", Value: "long", Mend: "use none, usual or strong"}}},
		{"work", func(o *Wish) { o.Work = 20_000_001 }, fault.Problems{{Pointer: "/work", Value: "20000001", Mend: "give at most 20000000, or leave it out"}}},
		{"less than none", func(o *Wish) { o.Work = -1 }, fault.Problems{{Pointer: "/work", Value: "-1", Mend: "give at most 20000000, or leave it out"}}},
		{"a dog with itself", func(o *Wish) { o.Together = [][2]string{{"Fern", "Moss"}, {"Fern", "Fern"}} }, fault.Problems{{Pointer: "/together/1", Value: "Fern and Fern", Mend: "name two of the dogs"}}},
		{"minutes of a dog", func(o *Wish) { o.Dogs[1].Minutes = 90.5 }, fault.Problems{{Pointer: "/dogs/1/minutes", Value: "90.5", Mend: "ask for 5 to 90 minutes"}}},
		{"home too early", func(o *Wish) { o.Dogs[0].FinishBy = tenOClock.Add(14 * time.Minute) }, fault.Problems{{Pointer: "/dogs/0/finish_by", Value: "2026-11-28T10:14:00Z", Mend: "give a time that leaves room for a walk after the start"}}},
		{"home in time", func(o *Wish) { o.Dogs[0].FinishBy = tenOClock.Add(15 * time.Minute) }, nil},
		{"strangers", func(o *Wish) { o.Dogs[0].OnlyWith, o.Dogs[1].NeverWith = []string{"Ada", "Cy"}, []string{"Di"} }, fault.Problems{{Pointer: "/dogs/0/only_with/1", Value: "Cy", Mend: "name one of the people of this outing"}, {Pointer: "/dogs/1/never_with/0", Value: "Di", Mend: "name one of the people of this outing"}}},
		{"a crowd", func(o *Wish) { o.Dogs[0].OnlyWith = slices.Repeat([]string{"Ada"}, 41) }, fault.Problems{{Pointer: "/dogs/0/only_with", Value: "41", Mend: "name up to 40 people"}}},
		{"a long name", func(o *Wish) { o.People[0].Name = long }, fault.Problems{{Pointer: "/people/0/name", Value: long, Mend: "everybody needs a name of at most 80 bytes"}}},
		{"steps that are none", func(o *Wish) { o.Dogs[0].Experience, o.People[1].Experience = 3, 9 }, fault.Problems{{Pointer: "/dogs/0/experience", Value: "experienced", Mend: "use new, regular or experienced"}, {Pointer: "/people/1/experience", Value: "experienced", Mend: "use new, regular or experienced"}}},
		{"400 m", func(o *Wish) { o.Dogs[0] = minder("Fern", 400) }, nil},
		{"more", func(o *Wish) { o.Dogs[0] = minder("Fern", 400.5) }, fault.Problems{{Pointer: "/dogs/0/dog/needs", Value: "400.5", Mend: "a working distance to other dogs of more than 400 m cannot be kept by a timetable"}}},
		{"nobody", func(o *Wish) { o.People = nil }, fault.Problems{{Pointer: "/people", Value: "0", Mend: "give 1 to 40 people"}}},
	} {
		o := goodWish()
		c.change(&o)
		err := o.Check()
		var got fault.Problems
		errors.As(err, &got)
		if !slices.Equal(got, c.want) || (err == nil) != (len(c.want) == 0) {
			t.Errorf("%s: %v, want %v", c.what, err, c.want)
		}
	}
}

// TestWhatWasNotSaid: defaults of an outing, the work of its search by the dogs, and what
// holds for a dog that has bitten.
func TestWhatWasNotSaid(t *testing.T) {
	o := goodWish()
	if o.zoneM() != 60 || o.slack() != Holds || o.turnMin() != 10 || o.waiting() != WaitUsual || o.minutePrice() != 3 || o.onTimeMin() != 3 {
		t.Errorf("%g m, %s, %g min, %s, %g, %d min", o.zoneM(), o.slack(), o.turnMin(), o.waiting(), o.minutePrice(), o.onTimeMin())
	}
	for dogs, want := range map[int]int{1: 20_000, 6: 20_000, 7: 70 * 343, 20: 560_000, 60: 2_000_000} {
		o.Dogs = make([]Dog, dogs)
		if got := o.work(); got != want {
			t.Errorf("with %d dogs %d walks are tried, want %d", dogs, got, want)
		}
	}
	if o.Work = 7; o.work() != 7 {
		t.Error("the work that was asked for")
	}
	o.Slack, o.ZoneM, o.TurnMin, o.Waiting, o.MinutePrice = Free, 40, 6, WaitStrong, 5
	if o.zoneM() != 40 || o.slack() != Free || o.turnMin() != 6 || o.waiting() != WaitStrong || o.minutePrice() != 5 || o.onTimeMin() != 0 {
		t.Error("what was said is not what holds")
	}
	for _, c := range []struct {
		dog  Dog
		want Experience
		bite bool
	}{
		{Dog{}, NewHand, false}, {Dog{Experience: Regular}, Regular, false}, {Dog{Experience: NewHand, Bite: true}, Experienced, true},
		{Dog{Dog: exposure.Dog{Cautions: exposure.Cautions{BiteHistory: true}}}, Experienced, true}, {Dog{Dog: exposure.Dog{Cautions: exposure.Cautions{ExperiencedOnly: true}}}, Experienced, false}, {Dog{Dog: exposure.Dog{Cautions: exposure.Cautions{Muzzle: true}}}, NewHand, false},
	} {
		if got := c.dog.needs(); got != c.want || c.dog.hasBitten() != c.bite {
			t.Errorf("%+v needs %s, has bitten %v", c.dog, got, c.dog.hasBitten())
		}
	}
	p := goodWish()
	if p.separation(0, 1) != 45 || p.separation(1, 0) != 45 || p.separation(0, 0) != 30 {
		t.Errorf("%g m between the two", p.separation(0, 1))
	}
	if p.together(0, 1) {
		t.Error("two that may not meet")
	}
	for _, pair := range [][2]string{{"Fern", "Moss"}, {"Moss", "Fern"}} {
		p.Together = [][2]string{{"Fern", "Ada"}, pair}
		if !p.together(0, 1) || !p.together(1, 0) {
			t.Errorf("%v may meet", pair)
		}
	}
	if p.dogNamed("Moss") != 1 || p.dogNamed("Ada") != -1 || p.personNamed("Bo") != 1 || p.personNamed("Fern") != -1 {
		t.Error("who is called what")
	}
}

// TestHoursOfPeople: whole minutes of the outing that somebody is there for, begun ones left
// out at both ends.
func TestHoursOfPeople(t *testing.T) {
	o := goodWish()
	at := func(minutes float64) time.Time { return tenOClock.Add(time.Duration(minutes * float64(time.Minute))) }
	for _, c := range []struct {
		p        Person
		from, to int
	}{
		{Person{}, 0, 120}, {Person{From: at(-30)}, 0, 120}, {Person{From: at(10)}, 10, 120}, {Person{From: at(10.2)}, 11, 120},
		{Person{To: at(90)}, 0, 90}, {Person{To: at(90.9)}, 0, 90}, {Person{To: at(500)}, 0, 120}, {Person{From: at(20), To: at(60)}, 20, 60},
	} {
		if from, to := o.hours(&c.p); from != c.from || to != c.to {
			t.Errorf("%v to %v: from %d to %d, want from %d to %d", c.p.From, c.p.To, from, to, c.from, c.to)
		}
	}
}

// TestGateByItsFormula: what a walk blocks the gate for, at zones, durations and slacks drawn by
// chance, by the formulas as they are stated: the zone is crossed at 0.9 of 1.2 m/s and each
// second of walking adds 1/0.9 - 1/1.1 of a second of doubt.
func TestGateByItsFormula(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 3))
	for range 200 {
		o := goodWish()
		o.ZoneM, o.Minutes = 10+200*rng.Float64(), 60+300*rng.Float64()
		for i := range o.Dogs {
			o.Dogs[i].Minutes = 10 + 60*rng.Float64()
		}
		after := 60 + 600*rng.Float64()
		mean := 60 * (o.Dogs[0].Minutes + o.Dogs[1].Minutes) / 2
		z, spread := o.ZoneM/(1.2*0.9), 1/0.9-1/1.1
		if math.Abs(spread-0.202) > 0.0005 {
			t.Fatalf("a second of walking adds %g s", spread)
		}
		for slack, want := range map[Slack]float64{
			Free:    2*lateS + 2*z + insideS + spread*mean,
			Printed: 2*lateS + 2*z + insideS + spread*math.Min(mean, after),
			Holds:   2*z + insideS + spread*math.Min(mean, after),
		} {
			o.Slack = slack
			g := gateArithmetic(&o, after)
			if got := 60 * (g.OutMin + g.InMin); math.Abs(got-want) > 1e-6 || g.Walks != int(o.Minutes*60/want) || g.Sufficient != (g.Walks >= 2) || g.Dogs != 2 {
				t.Fatalf("%s: %.2f s and %d walks, want %.2f s: %+v", slack, got, g.Walks, want, o)
			}
		}
	}
}

// TestOverlapsMinuteByMinute: how many walks are under way at once, by looking at every minute.
func TestOverlapsMinuteByMinute(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 3))
	for range 200 {
		var walks [][2]int
		for range rng.IntN(12) {
			from := rng.IntN(100)
			walks = append(walks, [2]int{from, from + 1 + rng.IntN(40)})
		}
		most := 0
		for m := range 150 {
			out := 0
			for _, w := range walks {
				if w[0] <= m && m < w[1] {
					out++
				}
			}
			most = max(most, out)
		}
		if got := mostOverlapping(walks); got != most {
			t.Fatalf("%v: %d at once, want %d", walks, got, most)
		}
		from, to := rng.IntN(30), 60+rng.IntN(90)
		longest, free := 0, 0
		for m := from; m < to; m++ {
			free++
			for _, w := range walks {
				if w[0] <= m && m < w[1] {
					free = 0
				}
			}
			longest = max(longest, free)
		}
		if got := longestGap(slices.Clone(walks), from, to); got != longest {
			t.Fatalf("%v from %d to %d: %d minutes free, want %d", walks, from, to, got, longest)
		}
	}
}

// TestFairnessOfLoads: Jain's index of loads by hours, with who is not there left out.
func TestFairnessOfLoads(t *testing.T) {
	for _, c := range []struct {
		loads []Load
		want  float64
	}{
		{nil, 1}, {[]Load{{HoursMin: 60, WalkMin: 30}, {HoursMin: 120, WalkMin: 60}}, 1}, {[]Load{{HoursMin: 60, WalkMin: 30}, {HoursMin: 60}}, 0.5},
		{[]Load{{HoursMin: 60, WalkMin: 30}, {}, {HoursMin: 60, WalkMin: 30}}, 1}, {[]Load{{HoursMin: 100, WalkMin: 10}, {HoursMin: 100, WalkMin: 20}, {HoursMin: 100, WalkMin: 30}}, 36. / (3 * 14)}, {[]Load{{HoursMin: 60}}, 1},
	} {
		if got := (&Timetable{Loads: c.loads}).Fairness(); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%+v: %g, want %g", c.loads, got, c.want)
		}
	}
}

// TestLimitsOfAnOutingAreChecked: faults of the limits stand beside those of the outing.
func TestLimitsOfAnOutingAreChecked(t *testing.T) {
	o := goodWish()
	o.Limits = reach.Limits{WithinM: -1, Avoid: []reach.Circle{{At: plane.Point{}, RadiusM: 9000}}}
	o.Minutes = 5
	var wrong fault.Problems
	errors.As(o.Check(), &wrong)
	var at []string
	for _, p := range wrong {
		at = append(at, p.Pointer)
	}
	if want := []string{"/minutes", "/limits/within_m", "/limits/avoid/0/radius_m"}; !slices.Equal(at, want) {
		t.Errorf("%q, want %q", at, want)
	}
}
