package hours

import (
	"errors"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestEveryProfileSumsToOne(t *testing.T) {
	for _, a := range Activities() {
		s := ShapeOf(a)
		for name, p := range map[string]Profile{"busy": s.Busy, "free": s.Free} {
			sum := 0.0
			for _, share := range p {
				if share < 0 {
					t.Errorf("%s %s: share %g", s.Name, name, share)
				}
				sum += share
			}
			if math.Abs(sum-1) > 1e-12 {
				t.Errorf("%s %s sums to %g", s.Name, name, sum)
			}
		}
		if s.Name == "" || s.Source == "" || s.FreeScale < 0 {
			t.Errorf("%s: no name, no source, or a negative scale", s.Name)
		}
	}
}

// Peak and trough hours and shares of urban weekday traffic: EPA MOVES default
// hourVMTFraction, quoted from memory; 5,000 vehicles a day give 348 in hour
// 7, 387 in hour 17 and 23 in hour 3.
func TestCarShape(t *testing.T) {
	cars := ShapeOf(Cars).Busy
	for hour, want := range map[int]float64{7: 348, 17: 387, 3: 23} {
		if got := 5000 * cars[hour]; math.Abs(got-want) > 1 {
			t.Errorf("hour %d: %g vehicles, want %g", hour, got, want)
		}
	}
	for hour, share := range cars {
		if share > cars[17] || share < cars[3] {
			t.Errorf("hour %d: %g is beyond peak or trough", hour, share)
		}
	}
}

// Dog walking has its peaks from 06:30 to 09:00 and 16:30 to 20:30, little
// between 23:00 and 05:00 (common practice, no table found); on free days it
// starts later.
func TestDogShape(t *testing.T) {
	dogs := ShapeOf(Dogs)
	for hour, share := range dogs.Busy {
		morning, evening := hour >= 6 && hour <= 9, hour >= 16 && hour <= 20
		if !morning && !evening && share > dogs.Busy[17]*0.6 {
			t.Errorf("hour %d is busy: %g", hour, share)
		}
		if (hour < 5 || hour == 23) && share > 0.01 {
			t.Errorf("night hour %d: %g", hour, share)
		}
	}
	if dogs.Free[7] >= dogs.Busy[7] || dogs.Free[10] <= dogs.Busy[10] {
		t.Error("free days do not start later")
	}
}

func TestShapeFollowsTheDay(t *testing.T) {
	c := testClock(t)
	at := func(month time.Month, day, hour int) Moment {
		return c.At(time.Date(2026, month, day, hour, 30, 0, 0, c.Loc))
	}
	cases := []struct {
		name string
		a    Activity
		m    Moment
		want float64
	}{
		{"school trips on a school day", SchoolTrips, at(3, 3, 8), ShapeOf(SchoolTrips).Busy[8]},
		{"none on Saturday", SchoolTrips, at(3, 7, 8), 0},
		{"none in the holidays", SchoolTrips, at(5, 5, 8), 0},
		{"none on a public holiday", SchoolTrips, at(4, 14, 8), 0},
		{"cars on a weekday in the holidays", Cars, at(5, 5, 8), ShapeOf(Cars).Busy[8]},
		{"cars on a public holiday", Cars, at(4, 14, 8), .9 * ShapeOf(Cars).Free[8]},
		{"playground in the holidays", Playground, at(5, 5, 11), 1.5 * ShapeOf(Playground).Free[11]},
		{"construction at night", Construction, at(3, 3, 17), 0},
		{"construction by day", Construction, at(3, 3, 16), 0.1},
		{"construction on Sunday", Construction, at(3, 8, 16), 0},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			if got := ShapeOf(tc.a).At(tc.m); math.Abs(got-tc.want) > 1e-12 {
				t.Errorf("got %g, want %g", got, tc.want)
			}
		})
	}
}

// The week's table says the same as asking hour by hour.
func TestWeekAgreesWithMoments(t *testing.T) {
	c := testClock(t)
	for _, tc := range []struct {
		monday time.Time
		school bool
	}{{time.Date(2026, 3, 2, 0, 0, 0, 0, c.Loc), true}, {time.Date(2026, 5, 4, 0, 0, 0, 0, c.Loc), false}} {
		for _, a := range Activities() {
			week := ShapeOf(a).Week(tc.school)
			for i, want := range week {
				m := c.At(tc.monday.Add(time.Duration(i)*time.Hour + 20*time.Minute))
				if got := ShapeOf(a).At(m); got != want || m.HourOfWeek() != i {
					t.Fatalf("%s hour %d: moment %g, week %g", ShapeOf(a).Name, i, got, want)
				}
			}
		}
	}
}

// Added up over the hours of a day of 24 h a shape gives 1 on busy days and
// FreeScale on the others, whatever the day.
func TestDaysAddUp(t *testing.T) {
	c := testClock(t)
	for _, a := range Activities() {
		s := ShapeOf(a)
		for d := NewDate(2026, 4, 1); d < NewDate(2026, 5, 31); d++ {
			sum := 0.0
			for h := range 24 {
				sum += s.At(c.At(d.In(c.Loc).Add(time.Duration(h) * time.Hour)))
			}
			weekday, holiday := mondayFirst(d.Weekday()) < 5, c.Calendar.PublicHoliday(d)
			busy := weekday && !holiday
			if s.Rhythm == SchoolYear {
				busy = busy && !c.Calendar.SchoolHoliday(d)
			}
			want := s.FreeScale
			if busy {
				want = 1
			}
			if math.Abs(sum-want) > 1e-9 {
				t.Fatalf("%s on %v: %g, want %g", s.Name, d, sum, want)
			}
		}
	}
}

// Steps, no curve: within an hour nothing changes.
func TestShapesAreSteps(t *testing.T) {
	c := testClock(t)
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.SampledFrom(Activities()).Draw(t, "activity")
		at := drawMoment(t, c).Time.Truncate(time.Hour)
		later := at.Add(time.Duration(rapid.IntRange(0, 3599).Draw(t, "second")) * time.Second)
		if ShapeOf(a).At(c.At(at)) != ShapeOf(a).At(c.At(later)) {
			t.Fatalf("%v and %v differ", at, later)
		}
	})
}

// A week later in the same season nothing changes.
func TestShapesRepeatWeekly(t *testing.T) {
	c := &Clock{} // UTC, so that no clocks change
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.SampledFrom(Activities()).Draw(t, "activity")
		at := time.Date(2026, 2, 1, 0, rapid.IntRange(0, 90*minutesPerDay).Draw(t, "minute"), 0, 0, time.UTC)
		if ShapeOf(a).At(c.At(at)) != ShapeOf(a).At(c.At(at.AddDate(0, 0, 7))) {
			t.Fatalf("%s: %v and a week later differ", ShapeOf(a).Name, at)
		}
	})
}

// What is assumed about places (common practice, no table found): playgrounds
// from 15:00 to 18:30 on school days and 10:00 to 17:00 on others, skate spots
// from 15:00 to 20:00, schools' ways around 8 and 15 (bell times 7:30 to 9:00,
// NCES NTPS 2020-21), and hardly anything from 23:00 to 05:00.
func TestShapesHaveTheirHours(t *testing.T) {
	share := func(p Profile, from, to int) float64 {
		sum := 0.0
		for h := from; h < to; h++ {
			sum += p[h]
		}
		return sum
	}
	cases := []struct {
		name        string
		p           Profile
		from, to    int
		least, most float64
	}{
		{"playground after school", ShapeOf(Playground).Busy, 15, 19, 0.5, 1},
		{"playground on free days", ShapeOf(Playground).Free, 10, 17, 0.7, 1},
		{"skate spot after school", ShapeOf(SkateSpot).Busy, 15, 20, 0.7, 1},
		{"skate spot on free afternoons", ShapeOf(SkateSpot).Free, 12, 18, 0.6, 1},
		{"ways to school", ShapeOf(SchoolTrips).Busy, 7, 9, 0.4, 0.5},
		{"ways home", ShapeOf(SchoolTrips).Busy, 14, 17, 0.4, 0.5},
		{"dog park in the evening", ShapeOf(DogPark).Busy, 16, 20, 0.3, 0.6},
		{"dog park by night", ShapeOf(DogPark).Busy, 0, 5, 0, 0.01},
		{"dogs by night", ShapeOf(Dogs).Busy, 0, 5, 0, 0.03},
		{"cafés at noon", ShapeOf(Cafe).Busy, 12, 14, 0.15, 0.3},
		{"markets in the morning", ShapeOf(Market).Busy, 8, 13, 0.7, 1},
		{"pitches after work", ShapeOf(Pitch).Busy, 16, 20, 0.6, 1},
		{"construction", ShapeOf(Construction).Busy, 7, 17, 1 - 1e-9, 1 + 1e-9},
		{"bells before Sunday service", ShapeOf(ChurchBells).Free, 9, 12, 0.4, 0.8},
		{"trains by night", ShapeOf(Trains).Busy, 1, 4, 0, 0.01},
		{"schoolyard at night", ShapeOf(Schoolyard).Busy, 17, 24, 0, 0},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			if got := share(tc.p, tc.from, tc.to); got < tc.least || got > tc.most {
				t.Errorf("%g of the day from %d to %d, want %g to %g", got, tc.from, tc.to, tc.least, tc.most)
			}
		})
	}
}

func TestNormalise(t *testing.T) {
	for name, p := range map[string]Profile{
		"empty": {}, "negative": {3: 1, 4: -1}, "not a number": {5: math.NaN()}, "endless": {6: math.Inf(1)},
		"endless sum": {0: math.MaxFloat64, 1: math.MaxFloat64},
	} {
		if _, err := p.normalise(); !errors.Is(err, errProfile) {
			t.Errorf("%s: %v", name, err)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		var p Profile
		for h := range p {
			p[h] = rapid.Float64Range(0, 100).Draw(t, "share")
		}
		p[0] += 1e-6
		got, err := p.normalise()
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for h := range got {
			sum += got[h]
			if math.Abs(got[h]*p[0]-p[h]*got[0]) > 1e-9 {
				t.Fatalf("hour %d lost its proportion", h)
			}
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Fatalf("sum %g", sum)
		}
	})
}
