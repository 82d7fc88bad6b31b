package hours

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// south of Germany, where the counters stand that the season was made of.
func counters(t testing.TB) *Clock {
	t.Helper()
	loc, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	return &Clock{Loc: loc, Lat: 48.6, Lon: 9, Country: "DE"}
}

func (c *Clock) on(month time.Month, day, hour int) Moment {
	return c.At(time.Date(2026, month, day, hour, 30, 0, 0, c.location()))
}

// Month factors counted by 54 counters, working and free days (MobiData BW; table of
// medians): the middle of each month has them within a hundredth, at noon, where the
// light is as on average; the days between lie within a tenth of the month they are in.
func TestBicycleMonthsAgainstTheTable(t *testing.T) {
	c := counters(t)
	working := [12]float64{.565, .713, .888, .970, 1.163, 1.388, 1.478, 1.170, 1.204, 1.065, .826, .569}
	for month := time.January; month <= time.December; month++ {
		sum, n := 0.0, 0.0
		for day := 1; day <= 28; day++ {
			m := c.on(month, day, 12)
			if !m.WorkingDay() {
				continue
			}
			f := m.Season().People[Bicycles]
			sum, n = sum+f, n+1
			if day == 15 || day == 16 {
				if math.Abs(f/working[month-1]-1) > .02 {
					t.Errorf("%d %s: %.3f, counted %.3f", day, month, f, working[month-1])
				}
			}
		}
		if mean := sum / n; math.Abs(mean/working[month-1]-1) > .1 {
			t.Errorf("%s: %.3f on average, counted %.3f", month, mean, working[month-1])
		}
	}
}

// The mean over a year is 1: levels stay what they are. July over January lies
// between 2 and 3.5 at 48 N.
func TestSeasonsKeepTheLevel(t *testing.T) {
	for _, lat := range []float64{-52, -38, -10, 0, 24, 33, 39, 48.6, 60} {
		c := &Clock{Lat: lat}
		var sum [3]float64
		n := 0.0
		for d := NewDate(2026, 1, 1); d < NewDate(2027, 1, 1); d++ {
			m := c.At(d.In(time.UTC).Add(12 * time.Hour))
			if !m.WorkingDay() {
				continue
			}
			s := m.Season()
			sum[0] += m.bicycleMonth()
			sum[1] += s.Visitors
			sum[2] += parks.warmth(m)
			n++
		}
		for i, what := range []string{"bicycles", "visitors", "people in parks"} {
			if mean := sum[i] / n; math.Abs(mean-1) > .03 {
				t.Errorf("%s at %g: %.3f on average", what, lat, mean)
			}
		}
	}
	c := counters(t)
	if r := c.on(7, 15, 12).Season().People[Bicycles] / c.on(1, 15, 12).Season().People[Bicycles]; r < 2 || r > 3.5 {
		t.Errorf("July over January %.2f", r)
	}
}

// The south has its summer in January; the tropics have none that is known.
func TestSeasonsByLatitude(t *testing.T) {
	north, south := &Clock{Lat: 48}, &Clock{Lat: -48}
	for month := time.January; month <= time.December; month++ {
		other := (month+5)%12 + 1
		workday := func(c *Clock, month time.Month) Moment {
			day := 14
			for !c.on(month, day, 12).WorkingDay() {
				day++
			}
			return c.on(month, day, 12)
		}
		a, b := workday(north, month).bicycleMonth(), workday(south, other).bicycleMonth()
		if math.Abs(a-b) > .05 {
			t.Errorf("%s in the north %.2f, %s in the south %.2f", month, a, other, b)
		}
	}
	for _, lat := range []float64{-20, 0, 12} {
		c := &Clock{Lat: lat}
		for _, month := range []time.Month{1, 7} {
			s := c.on(month, 15, 12).Season()
			for a := range s.People {
				if f := s.People[a]; f < .8 || f > 1.25 {
					t.Errorf("%g N in %s: %s %.2f", lat, month, shapes[a].Name, f)
				}
			}
		}
	}
	if a, b := seasonStrength(39), seasonStrength(48); a <= .5 || a >= b || seasonStrength(70) != northern || seasonStrength(-39) != a {
		t.Error("the season does not grow with latitude")
	}
}

// Usual daily maxima against long-term means of airports and cities (World
// Meteorological Organization's world weather information service; from memory).
func TestUsualTmax(t *testing.T) {
	for _, p := range []struct {
		name     string
		lat      float64
		country  string
		jan, jul float64
	}{
		{"Stuttgart", 48.7, "DE", 4, 25}, {"Berlin", 52.5, "DE", 3.5, 25}, {"Madrid", 40.4, "ES", 10, 32}, {"Wilmington, Delaware", 39.7, "US", 5, 31},
		{"Stockholm", 59.3, "SE", 0, 23}, {"Melbourne", -37.8, "AU", 26, 14}, {"Singapore", 1.4, "SG", 31, 31}, {"Lisbon", 38.7, "PT", 15, 28},
	} {
		c := &Clock{Lat: p.lat, Country: p.country}
		for month, want := range map[time.Month]float64{1: p.jan, 7: p.jul} {
			if got := c.on(month, 15, 12).usualTmax(); math.Abs(got-want) > 6 {
				t.Errorf("%s in %s: %.1f C, usually %.1f", p.name, month, got, want)
			}
		}
	}
}

// A dark hour never raises what shuns the dark, and a day of dogs or of people in
// streets keeps its total, whatever the season.
func TestDarkness(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		c := &Clock{Lat: rapid.Float64Range(-66, 66).Draw(r, "lat")}
		d := NewDate(2026, 1, 1) + Date(rapid.IntRange(0, 364).Draw(r, "day"))
		dark := c.dark(d)
		var dogDay, all float64
		for h := range 24 {
			m := c.At(d.In(time.UTC).Add(time.Duration(h)*time.Hour + 30*time.Minute))
			s := m.Season()
			if loss := bicycleDarkWe; dark[h] == 1 && m.inTheDark(loss, bicycleEvening) > 1+1e-9 {
				r.Fatalf("hour %d is dark and has %g of its riders", h, m.inTheDark(loss, bicycleEvening))
			}
			if dark[h] == 1 && s.People[Playground] > .11 {
				r.Fatalf("hour %d is dark and a playground has %g of its children", h, s.People[Playground])
			}
			share := shapes[Dogs].At(m)
			dogDay, all = dogDay+share*s.People[Dogs], all+share
		}
		if math.Abs(dogDay/all-1) > 1e-9 {
			r.Fatalf("%g of a day's dogs", dogDay/all)
		}
	})
}

// The same clock hour before and after the clocks change: 18 to 19 h in autumn had
// 1.18 (1.15 to 1.22) times as many riders in daylight on working days and 1.49 (1.38
// to 1.60) on weekends, 19 to 20 h in spring 1.14 and 1.29 (ten years of counters in
// Baden-Wuerttemberg).
func TestDarknessAgainstTheClockChange(t *testing.T) {
	c := counters(t)
	for _, p := range []struct {
		name        string
		dark, light Moment
		low, high   float64
	}{
		{"autumn, working day", c.on(10, 26, 18), c.on(10, 22, 18), 1.10, 1.25},
		{"autumn, free day", c.on(10, 31, 18), c.on(10, 18, 18), 1.25, 1.60},
		{"spring, working day", c.on(3, 26, 19), c.on(3, 31, 19), 1.08, 1.25},
	} {
		got := p.light.inTheDark([2]float64{bicycleDarkWd, bicycleDarkWe}[dayType(p.light)], 12) / p.dark.inTheDark([2]float64{bicycleDarkWd, bicycleDarkWe}[dayType(p.dark)], 12)
		if got < p.low || got > p.high {
			t.Errorf("%s: %.3f in the light, want %g to %g", p.name, got, p.low, p.high)
		}
	}
	if f := c.on(1, 14, 7).inTheDark(bicycleDarkWd, bicycleEvening); f != 1 {
		t.Errorf("a dark working morning has %g", f)
	}
}

// darkYear is what the sun makes of it.
func TestDarkYear(t *testing.T) {
	c, sum := counters(t), Profile{}
	for d := NewDate(2023, 1, 1); d < NewDate(2024, 1, 1); d++ {
		for h, x := range c.darkOf(d) {
			sum[h] += x / 365
		}
	}
	for h, want := range darkYear {
		if math.Abs(sum[h]-want) > .002 {
			t.Errorf("hour %d is dark %.3f of the year, the table says %.3f", h, sum[h], want)
		}
	}
}

// Weather as it was counted on bicycles: rain of 1 mm or more x0.79 of a dry working
// day and 0.71 on weekends, ten millimetres 0.64 and 0.52; 4.2 % for each degree.
// Without a word the factor is the mean over dry and wet days.
func TestWeatherOfBicycles(t *testing.T) {
	c := counters(t)
	for _, p := range []struct {
		day        int
		rain, pour float64
		perC       float64
	}{{15, .79, .64, 1.042}, {17, .71, .52, 1.069}} { // a Friday, a Sunday
		at := func(w Weather) float64 { return c.Under(w).on(5, p.day, 12).Season().People[Bicycles] }
		dry, wet, heavy, none := at(Weather{Rain: NoRain}), at(Weather{Rain: LightRain}), at(Weather{Rain: HeavyRain}), at(Weather{})
		if math.Abs(wet/dry-p.rain) > .005 || math.Abs(heavy/dry-p.pour) > .005 {
			t.Errorf("day %d: rain %.3f, heavy %.3f of dry", p.day, wet/dry, heavy/dry)
		}
		if mean := (1-wetDays)*dry + wetDays*wet; math.Abs(mean/none-1) > 1e-9 {
			t.Errorf("day %d: %.3f over dry and wet days, %.3f without a word", p.day, mean, none)
		}
		cool, warm := at(Weather{HasTmax: true, TmaxC: 15}), at(Weather{HasTmax: true, TmaxC: 16})
		if math.Abs(warm/cool-p.perC) > .001 {
			t.Errorf("day %d: %.3f for a degree", p.day, warm/cool)
		}
		if a, b := at(Weather{HasTmax: true, TmaxC: 23}), at(Weather{HasTmax: true, TmaxC: 26}); a != b {
			t.Errorf("day %d: %.3f at 23 C, %.3f at 26", p.day, a, b)
		}
	}
	// Usual weather, said, changes nothing.
	m := c.on(5, 15, 12)
	if a, b := m.Season().People[Bicycles], c.Under(Weather{HasTmax: true, TmaxC: m.usualTmax()}).on(5, 15, 12).Season().People[Bicycles]; math.Abs(a/b-1) > 1e-9 {
		t.Errorf("usual weather %.4f, without a word %.4f", b, a)
	}
}

// A terrace in January is shut for nine in ten where winters are cold, in June it is
// open; a heat wave, a frost and rain change it when they are said.
func TestTerracesAndPlaygrounds(t *testing.T) {
	c := counters(t)
	open := func(w Weather, month time.Month) float64 { return c.Under(w).on(month, 14, 13).Season().Open[Cafe] }
	if jan, jun := open(Weather{}, 1), open(Weather{}, 6); jan > .1 || jun < .9 {
		t.Errorf("open terraces: %.2f in January, %.2f in June", jan, jun)
	}
	if mild, wet := open(Weather{HasTmax: true, TmaxC: 17}, 1), open(Weather{Rain: HeavyRain}, 6); mild < .7 || wet > .1 {
		t.Errorf("open terraces: %.2f on a mild winter day, %.2f in heavy rain", mild, wet)
	}
	play := func(w Weather, month time.Month, hour int) float64 {
		return c.Under(w).on(month, 14, hour).Season().People[Playground]
	}
	if dusk, noon := play(Weather{}, 12, 18), play(Weather{}, 6, 15); dusk > .05 || noon < .9 {
		t.Errorf("playgrounds: %.2f at dusk in December, %.2f on a June afternoon", dusk, noon)
	}
	for a := range activityCount {
		if s := c.on(1, 14, 12).Season(); s.Open[Shops] != 1 || s.People[Cars] != 1 || s.People[SchoolTrips] != 1 || !(s.People[a] > 0) || !(s.Open[a] > 0) || s.Open[a] > 1 {
			t.Errorf("%s: %g people, %g open", shapes[a].Name, s.People[a], s.Open[a])
		}
	}
}

// Dogs are as many in January as in July, to a tenth of the day.
func TestDogsGoOutAllYear(t *testing.T) {
	c := counters(t)
	day := func(month time.Month) (sum float64) {
		for h := range 24 {
			m := c.on(month, 14, h)
			sum += shapes[Dogs].At(m) * m.Season().People[Dogs]
		}
		return sum
	}
	if a, b := day(1), day(7); math.Abs(a/b-1) > .1 {
		t.Errorf("January %.3f, July %.3f of a day", a, b)
	}
	if noon, evening := c.on(1, 14, 12).Season().People[Dogs], c.on(1, 14, 19).Season().People[Dogs]; noon < 1.02 || evening > 1 {
		t.Errorf("January: %.2f at noon, %.2f in the evening", noon, evening)
	}
}

// Later evenings in the south; no share is lost, mornings stay.
func TestLaterHours(t *testing.T) {
	north, south := &Clock{Lat: 52, Country: "DE"}, &Clock{Lat: 40, Country: "ES"}
	for a, s := range shapes {
		for step := range latest {
			for k, p := range s.later[step] {
				sum := 0.0
				for _, share := range p {
					sum += share
				}
				if math.Abs(sum-1) > 1e-9 {
					t.Errorf("%s, step %d, day type %d sums to %g", s.Name, step, k, sum)
				}
			}
		}
		if m, n := south.on(3, 4, 7), north.on(3, 4, 7); math.Abs(s.At(m)-s.At(n)) > 1e-9 {
			t.Errorf("%s at 7 h: %g in the south, %g in the north", s.Name, s.At(m), s.At(n))
		}
		if !keepsHours[Activity(a)] && s.At(south.on(3, 4, 21)) != s.At(north.on(3, 4, 21)) {
			t.Errorf("%s keeps other hours in the south", s.Name)
		}
	}
	if a, b := ShapeOf(People).At(south.on(3, 4, 21)), ShapeOf(People).At(north.on(3, 4, 21)); a < 1.4*b {
		t.Errorf("people at 21 h: %g in the south, %g in the north", a, b)
	}
}
