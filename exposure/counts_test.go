package exposure

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"wideberth/exposure/hours"
	"wideberth/osmdata/fault"
)

func number(x float64) *float64 { return &x }

// goodCount is a count of ten minutes that ended before now.
func goodCount(now time.Time) Count {
	return Count{Lat: 47, Lon: -7, Start: now.Add(-time.Hour), Minutes: 10, People: number(14)}
}

// TestCountsAtTheirBounds: what stands at a bound is taken, what lies past it is named with
// its value and the mend.
func TestCountsAtTheirBounds(t *testing.T) {
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	const places, minutes, none = "give degrees from -90 to 90", "give 1 to 1440 minutes", "nothing was counted: give dogs, people, wheels or traffic"
	for _, c := range []struct {
		what   string
		change func(c *Count)
		want   fault.Problems
	}{
		{"as it is", func(*Count) {}, nil},
		{"poles", func(c *Count) { c.Lat, c.Lon = -90, 180 }, nil},
		{"beyond a pole", func(c *Count) { c.Lat = 90.001 }, fault.Problems{{Pointer: "/lat", Value: "90.001", Mend: places}}},
		{"no place", func(c *Count) { c.Lat, c.Lon = math.NaN(), -181 }, fault.Problems{{Pointer: "/lat", Value: "NaN", Mend: places}, {Pointer: "/lon", Value: "-181", Mend: "give degrees from -180 to 180"}}},
		{"a minute", func(c *Count) { c.Minutes = 1 }, nil},
		{"a day", func(c *Count) { c.Start, c.Minutes = now.Add(-24*time.Hour), 1440 }, nil},
		{"less", func(c *Count) { c.Minutes = 0.5 }, fault.Problems{{Pointer: "/minutes", Value: "0.5", Mend: minutes}}},
		{"more", func(c *Count) { c.Minutes = 1440.5 }, fault.Problems{{Pointer: "/minutes", Value: "1440.5", Mend: minutes}}},
		{"no minutes", func(c *Count) { c.Minutes = math.Inf(1) }, fault.Problems{{Pointer: "/minutes", Value: "+Inf", Mend: minutes}}},
		{"just over", func(c *Count) { c.Start = now.Add(-10 * time.Minute) }, nil},
		{"still counting", func(c *Count) { c.Start = now.Add(-9 * time.Minute) }, fault.Problems{{Pointer: "/start", Value: "2026-11-25T11:51:00Z", Mend: "ends in the future: give when it was counted"}}},
		{"long ago", func(c *Count) { c.Start = time.Date(1990, 1, 1, 0, 0, 0, 0, time.UTC) }, nil},
		{"too long ago", func(c *Count) { c.Start = time.Date(1989, 12, 31, 23, 0, 0, 0, time.UTC) }, fault.Problems{{Pointer: "/start", Value: "1989-12-31T23:00:00Z", Mend: "give a time since 1990"}}},
		{"nothing", func(c *Count) { c.People = nil }, fault.Problems{{Pointer: "/people", Mend: none}}},
		{"nobody came", func(c *Count) { c.People, c.Dogs = number(0), number(0) }, nil},
		{"a crowd", func(c *Count) { c.Minutes, c.People = 30, number(10_000) }, nil},
		{"more than a crowd", func(c *Count) { c.Minutes, c.People = 30, number(10_001) }, fault.Problems{{Pointer: "/people", Value: "10001", Mend: "give 0 to 10000 for so many minutes"}}},
		{"fewer than none", func(c *Count) { c.Wheels, c.Traffic = number(-1), number(math.NaN()) }, fault.Problems{
			{Pointer: "/wheels", Value: "-1", Mend: "give 0 to 3333 for so many minutes"}, {Pointer: "/traffic", Value: "NaN", Mend: "give 0 to 3333 for so many minutes"}}},
	} {
		got := goodCount(now)
		c.change(&got)
		if wrong := got.Check(now); !slices.Equal(wrong, c.want) {
			t.Errorf("%s: %v, want %v", c.what, wrong, c.want)
		}
	}
}

// TestCountedByCategory: what is set of a category is what is read of it and of no other.
func TestCountedByCategory(t *testing.T) {
	for of := range CategoryCount {
		var c Count
		if of >= Sounds {
			if _, ok := c.Of(of); ok {
				t.Errorf("%s can be counted", of)
			}
			continue
		}
		c.Set(of, 7)
		for other := range CategoryCount {
			n, ok := c.Of(other)
			if ok != (other == of) || ok && n != 7 {
				t.Errorf("%s is set to 7, %s is %g, %v", of, other, n, ok)
			}
		}
	}
	start := time.Date(2026, 11, 25, 7, 10, 0, 0, time.UTC)
	if end := (&Count{Start: start, Minutes: 12.5}).End(); !end.Equal(start.Add(750 * time.Second)) {
		t.Errorf("it ends at %v", end)
	}
}

// TestExpectedCounts: what is predicted for a count is the day's flow by the share of each
// hour, minute by minute: two counts of an hour make one of both, and one over a change of the
// clock counts the hours that pass. Edges add.
func TestExpectedCounts(t *testing.T) {
	f := emptyField(3)
	clock := clockFor(t)
	for p := range PatternCount {
		for e := range 3 {
			f.OwnPerDay[p][e] = float32(100 * (int(p) + 1) * (e + 1))
		}
	}
	start := time.Date(2026, 11, 4, 7, 0, 0, 0, clock.Loc)
	for of := range Sounds {
		hour := func(h int) float64 {
			return f.Expected([]int32{0, 2}, of, &Count{Start: start.Add(time.Duration(h) * time.Hour), Minutes: 60}, clock)
		}
		both := f.Expected([]int32{0, 2}, of, &Count{Start: start, Minutes: 120}, clock)
		if both <= 0 || math.Abs(both-hour(0)-hour(1)) > 1e-6*both {
			t.Errorf("%s: %g in two hours, %g and %g in each", of, both, hour(0), hour(1))
		}
		one, two := f.Expected([]int32{0}, of, &Count{Start: start, Minutes: 60}, clock), f.Expected([]int32{2}, of, &Count{Start: start, Minutes: 60}, clock)
		if math.Abs(two-3*one) > 1e-6*two || math.Abs(hour(0)-one-two) > 1e-6*two {
			t.Errorf("%s: %g and %g on two edges, together %g", of, one, two, hour(0))
		}
		// By hand: the patterns of the category, their day and the hour's share of it.
		want := 0.0
		for p := range PatternCount {
			if p.Counted() != of {
				continue
			}
			each := 1.0
			if p == WheelTrips {
				each = BicyclesAmongWheels * float64(1+boardsUsual)
			}
			m := clock.At(start.Add(30 * time.Minute))
			want += each * float64(f.OwnPerDay[p][0]) * hours.ShapeOf(patternActivity[p]).At(m)
		}
		if math.Abs(one-want) > 1e-6*want {
			t.Errorf("%s: %g from seven to eight, want %g", of, one, want)
		}
		// A whole day has what passes in a day; in New York the day of 1 November 2026 has 25
		// hours (US rule: the first Sunday in November), of which one comes twice.
		day := f.Expected([]int32{0}, of, &Count{Start: time.Date(2026, 11, 4, 0, 0, 0, 0, clock.Loc), Minutes: 1440}, clock)
		sum := 0.0
		for h := range 24 {
			sum += f.Expected([]int32{0}, of, &Count{Start: time.Date(2026, 11, 4, h, 0, 0, 0, clock.Loc), Minutes: 60}, clock)
		}
		if math.Abs(day-sum) > 1e-6*sum {
			t.Errorf("%s: %g a day, its hours make %g", of, day, sum)
		}
	}
	short := f.Expected([]int32{0}, People, &Count{Start: start, Minutes: 1}, clock)
	long := f.Expected([]int32{0}, People, &Count{Start: start, Minutes: 10}, clock)
	if math.Abs(long-10*short) > 1e-6*long {
		t.Errorf("%g in a minute, %g in ten of the same hour", short, long)
	}
	// More boards, more wheels.
	few := f.Expected([]int32{0}, Wheels, &Count{Start: start, Minutes: 60}, clock)
	f.Boards = 2 * boardsUsual
	many := f.Expected([]int32{0}, Wheels, &Count{Start: start, Minutes: 60}, clock)
	if want := few * float64(1+2*boardsUsual) / float64(1+boardsUsual); math.Abs(many-want) > 1e-6*want {
		t.Errorf("with twice the boards %g wheels, want %g", many, want)
	}
}

// TestLevelsAreFactorsOfFlows: a field with levels is the field whose flows were multiplied,
// in its sums, in its terms and in what passes; the field itself stays as it is, and what was
// counted is told as counted.
func TestLevelsAreFactorsOfFlows(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	const n = 6
	f, scaled := emptyField(n), emptyField(n)
	levels := Levels{}
	for e := range int32(n) {
		if e%2 == 0 {
			l := &EdgeLevels{}
			for c := range Sounds {
				l.Own[c], l.Near[c], l.Counted[c] = 0.5+2*r.Float32(), 0.5+2*r.Float32(), r.IntN(2) == 0
			}
			levels[e] = l
		}
		for p := range PatternCount {
			f.OwnPerDay[p][e] = 500 * r.Float32()
			scaled.OwnPerDay[p][e] = f.OwnPerDay[p][e]
			if l := levels[e]; l != nil && p.Counted() < Sounds {
				scaled.OwnPerDay[p][e] *= l.Own[p.Counted()]
			}
		}
	}
	with := f.WithLevels(levels)
	if f.Bound() || !with.Bound() || with.BoundEdges() != 3 || with.WithLevels(nil).Bound() {
		t.Errorf("bound: %v, %v at %d edges, %v", f.Bound(), with.Bound(), with.BoundEdges(), with.WithLevels(nil).Bound())
	}
	d := DefaultDog()
	for c := range Sounds {
		d.ByCategory[c] = Need{WorkingM: 30, ReactionM: 12}
	}
	m := at(t, schoolMorning)
	got, want := with.Sums(d, nil).Hazard(m, nil, nil), scaled.Sums(d, nil).Hazard(m, nil, nil)
	for e := range got {
		if math.Abs(float64(got[e]-want[e])) > 1e-5*float64(want[e]) || want[e] == 0 {
			t.Errorf("edge %d: hazard %g, of multiplied flows %g", e, got[e], want[e])
		}
	}
	for e := range int32(n) {
		counted, plain := with.Explain(e, d, m, nil), scaled.Explain(e, d, m, nil)
		if len(counted) != len(plain) {
			t.Fatalf("edge %d has %d terms, of multiplied flows %d", e, len(counted), len(plain))
		}
		for i, x := range counted {
			same := slices.ContainsFunc(plain, func(y Term) bool {
				return y.Kind == x.Kind && y.Pattern == x.Pattern && math.Abs(y.RatePerS-x.RatePerS) <= 1e-6*x.RatePerS+1e-12
			})
			if !same {
				t.Errorf("edge %d, term %d: %s at %g a second has no like", e, i, x.Kind, x.RatePerS)
			}
			if want := with.Counted(e, x.Pattern.Counted()); want != (x.Evidence == FromCounts) || want && x.Shape != FirmShape {
				t.Errorf("edge %d: %s is told %s with a shape of %g, counted %v", e, x.Kind, x.Evidence, x.Shape, want)
			}
		}
		for p := range PatternCount {
			if got, want := with.PerDay(p, e), float64(scaled.OwnPerDay[p][e]); math.Abs(got-want) > 1e-5*want {
				t.Errorf("edge %d: %g a day, want %g", e, got, want)
			}
		}
		if with.Counted(e, Sounds) || f.Counted(e, Dogs) {
			t.Error("what cannot be counted is, or was")
		}
	}
	for k := range KindCount {
		a, b := with.Passing([]int32{0, 1, 2}, k, m, nil), scaled.Passing([]int32{0, 1, 2}, k, m, nil)
		for i := range a {
			if math.Abs(a[i]-b[i]) > 1e-5*b[i] {
				t.Errorf("%s pass at %g a second, want %g", k, a[i], b[i])
			}
		}
	}
}

// TestNearLevels: a level of what passes on other ways multiplies just that.
func TestNearLevels(t *testing.T) {
	f := emptyField(2)
	var b Bins
	b.Add(0.01, At(20))
	f.Near[DogWalks][0], f.Near[DogWalks][1] = b.Pack(1), b.Pack(1)
	one := &EdgeLevels{}
	for c := range Sounds {
		one.Own[c], one.Near[c] = 9, 1
	}
	one.Near[Dogs] = 3
	with := f.WithLevels(Levels{1: one})
	m, d := at(t, schoolMorning), DefaultDog()
	terms := func(e int32) (rate float64) {
		for _, x := range with.Explain(e, d, m, nil) {
			rate += x.RatePerS
		}
		return rate
	}
	if plain, more := terms(0), terms(1); plain <= 0 || math.Abs(more-3*plain) > 1e-9 {
		t.Errorf("%g a second, at three times the level %g", plain, more)
	}
}

// TestHabitsOfCountries: trips by bicycle against the published figures that stand beside the
// rows: the Netherlands' 5 billion trips of 17.6 billion km by 17.2 million people in 2019,
// Denmark's 0.46 to 0.50 trips and 1.5 km a day, Germany's 11 % of 3.1 trips a day, Great
// Britain's 17 trips and 58 miles a year; for each row shares and sizes that can be.
func TestHabitsOfCountries(t *testing.T) {
	near := func(what string, got, want, share float64) {
		t.Helper()
		if math.Abs(got-want) > share*want {
			t.Errorf("%s: %g, published are %g", what, got, want)
		}
	}
	nl, dk, de, gb := HabitsOf("NL"), HabitsOf("DK"), HabitsOf("DE"), HabitsOf("GB")
	near("trips in NL", nl.BicycleTrips, 5e9/17.2e6/365, 0.02)
	near("metres a trip in NL", nl.BicycleM, 17.6e9/5e9*1000, 0.02)
	near("trips in DK", dk.BicycleTrips, 0.48, 0.05)
	near("metres a day in DK", dk.BicycleTrips*dk.BicycleM, 1500, 0.05)
	near("trips in DE", de.BicycleTrips, 0.11*3.1, 0.02)
	near("trips in GB", gb.BicycleTrips, 17./365, 0.02)
	near("metres a trip in GB", gb.BicycleM, 58*1609.344/17, 0.05)
	near("dogs in US", HabitsOf("US").DogHomes, 0.446, 0.001)
	seen := map[string]bool{}
	for _, h := range habitRows {
		if seen[h.Country] || len(h.Country) != 2 {
			t.Errorf("a row of %q", h.Country)
		}
		seen[h.Country] = true
		if !(h.BicycleTrips > 0 && h.BicycleTrips < 1 && h.Persons > 1.5 && h.Persons < 3 && h.BicycleM > 1500 && h.BicycleM < 6000 && h.FootLegs > 0.5 && h.FootLegs < 3 && h.DogHomes > 0.05 && h.DogHomes < 0.5) {
			t.Errorf("%+v cannot be", h)
		}
		if got := HabitsOf(h.Country); got != h {
			t.Errorf("of %s: %+v", h.Country, got)
		}
		near("boards in "+h.Country, h.BoardsPerBicycle()*h.BicycleTrips, 0.01, 1e-9)
	}
	for _, code := range []string{"", "XX", "Germany"} {
		if got := HabitsOf(code); got.Country != "" || got != elsewhere {
			t.Errorf("of %q: %+v", code, got)
		}
	}
	if HabitsOf("de") != de {
		t.Error("a code in small letters is another country")
	}
}

// TestSoundsAndSigns: by spherical spreading 20 dB less are ten times as far and 6.02 dB
// twice (inverse square law, any handbook of acoustics); what trees hide is seen while they
// are bare; words of evidence and places are told.
func TestSoundsAndSigns(t *testing.T) {
	for drop, times := range map[float64]float64{0: 1, 20: 10, 6.0206: 2, 40: 100} {
		if got := heardM(30, drop); math.Abs(got-30*times) > 1e-3*times {
			t.Errorf("%g dB less are like %g m, want %g m", drop, got, 30*times)
		}
	}
	clock := &hours.Clock{Loc: time.UTC, Lat: 48, Lon: 11, Country: "DE"}
	july, january := clock.At(time.Date(2026, 7, 1, 12, 0, 0, 0, time.UTC)), clock.At(time.Date(2026, 1, 15, 12, 0, 0, 0, time.UTC))
	for _, c := range []struct {
		touch        Touch
		july, winter bool
	}{{Touch{InSight: true}, true, true}, {Touch{InSight: true, Bare: true}, false, true}, {Touch{}, false, false}, {Touch{Bare: true}, false, false}} {
		if a, b := c.touch.SeenAt(july), c.touch.SeenAt(january); a != c.july || b != c.winter {
			t.Errorf("%+v is seen in July %v, in January %v", c.touch, a, b)
		}
	}
	for osm, want := range map[string]bool{"report/7": true, "report/": false, "way/7": false, "": false, "node/report/7": false} {
		if (&Source{OSM: osm}).Reported() != want {
			t.Errorf("%q is reported: %v", osm, !want)
		}
	}
	words := map[string]bool{}
	for e := range EvidenceCount {
		words[e.String()] = true
	}
	for p := range PlaceKindCount {
		words[p.String()] = true
	}
	if len(words) != int(EvidenceCount)+int(PlaceKindCount) || words[""] || EvidenceCount.String() != "assumed" || PlaceKindCount.String() != "industry" {
		t.Errorf("words %v", words)
	}
}

// TestDogsAreStretched: an aroused dog has all distances longer and nothing else; the farthest
// is told over all kinds; what is assumed of it is told by name.
func TestDogsAreStretched(t *testing.T) {
	d := &Dog{Name: "Fern", ByCategory: map[Category]Need{Dogs: {WorkingM: 40, ReactionM: 16}}, ByKind: map[Kind]Need{Child: {WorkingM: 90, ReactionM: 30}, DogBehindFence: {}}, AssumedR: map[string]struct{}{"dogs": {}, "child": {}}}
	s := d.Stretch(1.5)
	if s.Need(DogOnLead) != (Need{WorkingM: 60, ReactionM: 24}) || s.Need(Child) != (Need{WorkingM: 135, ReactionM: 45}) || s.Need(DogBehindFence) != (Need{}) || s.Name != "Fern" || d.Need(Child).WorkingM != 90 {
		t.Errorf("stretched %+v of %+v", s, d)
	}
	// P at a stretched distance is P at the distance: the curve keeps its shape.
	for _, m := range []float64{1, 20, 40, 100, 300} {
		if a, b := s.Need(DogOnLead).P(1.5*m), d.Need(DogOnLead).P(m); math.Abs(a-b) > 1e-12 {
			t.Errorf("at %g m %g, stretched %g", m, b, a)
		}
	}
	if d.FarthestM() != 90 || (&Dog{}).FarthestM() != 0 {
		t.Errorf("the farthest are %g m", d.FarthestM())
	}
	var told []string
	for _, a := range d.Assumptions() {
		told = append(told, string(a.What)+" "+a.Of)
	}
	if !slices.Contains(told, "reaction child") || !slices.Contains(told, "reaction dogs") {
		t.Errorf("assumed are %q", told)
	}
	if d.PaceMPS() != 1.2 || (&Dog{SpeedMPS: 0.9}).PaceMPS() != 0.9 {
		t.Error("the pace that nobody gave")
	}
}

// TestSidesAreTurnedOnce: walked against its geometry an edge has its sides exchanged and the
// other sight; room is the better side, or both where one may cross; what is of use of it is
// no more than the dog needs, nor than one can take while a party is in sight.
func TestSidesAreTurnedOnce(t *testing.T) {
	f := emptyField(2)
	f.SightFwdM[0], f.SightBackM[0], f.Left[0], f.Right[0] = 80, 30, Side{LowM: 3, LeastM: 1}, Side{LowM: 9, LeastM: 2, Default: true}
	with, against := f.Sides(0, false), f.Sides(0, true)
	if with.Left != against.Right || with.Right != against.Left || with.Left.LowM != 3 || with.SightM != 80 || against.SightM != 30 {
		t.Errorf("with %+v, against %+v", with, against)
	}
	if f.RoomM(0) != 9 || f.sightM(0) != 30 {
		t.Errorf("room %g m, sight %g m", f.RoomM(0), f.sightM(0))
	}
	f.Marks[0] = MayCross
	if f.RoomM(0) != 12 {
		t.Errorf("on a street that may be crossed %g m", f.RoomM(0))
	}
	// A party at 1.4 m/s in sight at 30 m meets a walker at 1.2 m/s after 11.5 s: as many
	// metres to the side at 1 m/s.
	for _, c := range []struct{ room, sight, need, want float64 }{{40, 30, 38, 30 / 2.6}, {5, 30, 38, 5}, {40, 300, 38, 38}, {40, 300, 100, 40}, {40, 30, 3, 3}} {
		if got := Usable(c.room, c.sight, 1.4, 1.2, c.need); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("of %g m with %g m of sight %g m are of use, want %g m", c.room, c.sight, got, c.want)
		}
	}
	for c, want := range map[Category]float64{Dogs: 1.5, People: 0.9, Wheels: 1, Traffic: 2} {
		if got := CountDoubt(c); got != want {
			t.Errorf("before a count the shape of %s is %g, want %g", c, got, want)
		}
	}
	for _, e := range []Evidence{FromHomes, FromFewPlaces, FromSource, FromReport, FromCutMap, FromCounts} {
		for k := range KindCount {
			if shape := defaultShape(k, e); shape > FirmShape || shape < 0.7 || e == FromCounts && shape != FirmShape || e == FromReport && shape != 3 {
				t.Errorf("%s from %s has a shape of %g", k, e, shape)
			}
		}
	}
}
