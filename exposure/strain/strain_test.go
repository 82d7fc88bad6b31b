package strain

import (
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/exposure/hours"
	"wideberth/osmdata"
	"wideberth/osmdata/flatfile"
)

// Where no limit is tagged main roads keep to the law of built-up ground: in Europe
// among homes too, in the United States in business districts alone. A limit that is
// tagged, trunk roads and small streets stay.
func TestTownSpeeds(t *testing.T) {
	for _, c := range []struct {
		region Region
		class  osmdata.Class
		legal  float32
		centre bool
		want   float64
	}{
		{Elsewhere, osmdata.Primary, 0, false, 50}, {Elsewhere, osmdata.Primary, 0, true, 50}, {Elsewhere, osmdata.Primary, 70 / 3.6, true, 70},
		{Elsewhere, osmdata.Trunk, 0, true, 90}, {Elsewhere, osmdata.Residential, 0, true, 40}, {Elsewhere, osmdata.Tertiary, 0, false, 50},
		{UnitedStates, osmdata.Primary, 0, true, 48}, {UnitedStates, osmdata.Primary, 0, false, 72}, {UnitedStates, osmdata.Tertiary, 0, true, 48},
		{UnitedStates, osmdata.Residential, 0, true, 40},
	} {
		if got := c.region.TownKMH(c.class, c.legal, c.centre); math.Abs(got-c.want) > 1e-3 {
			t.Errorf("region %d, class %d, limit %g m/s, centre %t: %g km/h, want %g", c.region, c.class, c.legal, c.centre, got, c.want)
		}
	}
}

func TestIntensity(t *testing.T) {
	for _, c := range []struct{ kmh, perHour, want float64 }{
		{80, 0, 0},           // nobody passes: an empty road is a path
		{80, 5, 5. / 60},     // five an hour at full speed
		{80, 60, 1},          // one a minute at full speed is enough
		{30, 60, 0},          // slow and rare
		{30, 230, .5},        // half way from 60 to 400
		{40, 60, .5},         // half way from 30 to 50 km/h
		{40, 30, .25},        // and half as many of them
		{20, 400, 1},         // slow, but many
		{200, 10_000, 1},     // never more than in full
		{40, 230, .5},        // the larger of both, not their sum
		{50, 59, 59. / 60},   //
		{math.Inf(1), 60, 1}, //
	} {
		if got := Intensity(c.kmh, c.perHour); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%g km/h, %g an hour: %g, want %g", c.kmh, c.perHour, got, c.want)
		}
	}
	r := rand.New(rand.NewPCG(1, 1))
	for range 2000 {
		v, q := 120*r.Float64(), 900*r.Float64()
		x := Intensity(v, q)
		if x < 0 || x > 1 || Intensity(v+1, q) < x || Intensity(v, q+1) < x {
			t.Fatalf("intensity is not between 0 and 1 and rising at %g km/h, %g an hour", v, q)
		}
	}
}

// wilmington is the clock of a place at the 39th parallel.
var wilmington = &hours.Clock{Loc: time.FixedZone("", -5*3600), Lat: 39.75, Lon: -75.55}

func moment(hour, minute int) hours.Moment {
	return wilmington.At(time.Date(2026, 12, 2, hour, minute, 0, 0, wilmington.Loc))
}

// TestPricesOfAMinute is the table of prices: a Wednesday in December at a quarter
// past eight, full traffic.
func TestPricesOfAMinute(t *testing.T) {
	full := float32(400 / hours.ShapeOf(hours.Cars).At(moment(8, 15)))
	table := silent(5)
	for e, p := range []Pavement{Separate, Unknown, Carriageway} {
		table.Stretches = append(table.Stretches, Stretch{Share: 1, SpeedKMH: 60, AADT: full, Pavement: p, Main: true})
		table.At[e+1] = int32(e + 1)
	}
	// Edge 3: half of it beside the same road on a pavement, the other beside none.
	table.Stretches = append(table.Stretches, Stretch{Share: .5, SpeedKMH: 60, AADT: full, Pavement: Separate, Main: true})
	table.At[4], table.At[5] = 4, 4
	edges := []int32{0, 1, 2, 3, 4}
	day := table.PerS(edges, moment(8, 15), nil)
	for i, want := range []float64{.01, .03, .1, .005, 0} {
		if got := 60 * float64(day[i]); math.Abs(got-want) > 1e-6 {
			t.Errorf("edge %d: %g a minute, want %g", i, got, want)
		}
	}
	if a, b := table.MainShare(0), table.MainShare(3); a != 1 || b != .5 {
		t.Errorf("shares beside a main road %g and %g, want 1 and 0.5", a, b)
	}
	// The sun sets at 16:38 that day in Wilmington (US Naval Observatory's table,
	// from memory to the minute); ten minutes each side are clear of that.
	before, after := table.PerS(edges, moment(16, 28), nil), table.PerS(edges, moment(16, 48), nil)
	for i := range 3 {
		if math.Abs(float64(after[i]/before[i])-DarkFactor) > 1e-6 {
			t.Errorf("edge %d: %g after sunset, %g before; want twice as much", i, after[i], before[i])
		}
	}
}

// TestNoise: the price ramps from 60 to 70 dB(A) by day; half or twice the traffic is
// 3.01 dB less or more (10 log10 2, as energies add up).
func TestNoise(t *testing.T) {
	byDay := Noise{}
	for _, c := range []struct{ db, want float64 }{{0, 0}, {60, 0}, {65, .015}, {70, .03}, {85, .03}, {math.NaN(), 0}} {
		if got := 60 * byDay.PerS(c.db); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%g dB(A): %g a minute, want %g", c.db, got, c.want)
		}
	}
	cars := hours.ShapeOf(hours.Cars)
	for hour := range 24 {
		m := moment(hour, 30)
		more := 10 * math.Log10(cars.At(m)/DayShare())
		want := 0.03 * max(0, min(1, (66+more-60)/10))
		if got := 60 * NoiseAt(m).PerS(66); math.Abs(got-want) > 1e-9 {
			t.Errorf("66 dB(A) by day at %d:30: %g a minute, want %g", hour, got, want)
		}
	}
	if night, rush := NoiseAt(moment(3, 0)).PerS(66), NoiseAt(moment(17, 15)).PerS(66); night > 0 || !(rush > byDay.PerS(66)) {
		t.Errorf("66 dB(A) by day: %g a second at three, %g in the rush hour, %g by day", night, rush, byDay.PerS(66))
	}
	// The mean over the hours of the day is the day itself, as energies add up.
	mean := 0.0
	for hour := 7; hour < 19; hour++ {
		mean += math.Pow(10, NoiseAt(moment(hour, 0)).moreDB/10) / 12
	}
	if math.Abs(mean-1) > 1e-9 {
		t.Errorf("the hours of the day have %g of its energy", mean)
	}
}

func TestSettings(t *testing.T) {
	for s, want := range map[Setting]float64{"": 1, None: 0, Usual: 1, Strict: 3} {
		if s.Check() != nil || s.Weight() != want {
			t.Errorf("%q: weight %g (%v), want %g", s, s.Weight(), s.Check(), want)
		}
	}
	if Setting("relaxed").Check() == nil {
		t.Error("a word that is no setting passes")
	}
}

// TestPavements walks the rule through its cases.
func TestPavements(t *testing.T) {
	const built, mapped, telling = 1, 2, 4
	for _, c := range []struct {
		class osmdata.Class
		flags osmdata.StreetFlags
		kmh   float64
		about int
		want  Pavement
	}{
		{osmdata.Primary, osmdata.FlagSidewalk, 70, 0, Separate},
		{osmdata.Trunk, osmdata.FlagSidewalk, 90, 0, Separate}, // tags decide
		{osmdata.Residential, osmdata.FlagNoSidewalk, 40, built, Carriageway},
		{osmdata.Trunk, 0, 40, built, Carriageway},
		{osmdata.Motorway, 0, 40, built, Carriageway},
		{osmdata.Primary, osmdata.FlagLink, 40, built, Carriageway},
		{osmdata.Primary, osmdata.FlagOneWay, 56, built, Carriageway}, // one side of a divided road
		{osmdata.Primary, osmdata.FlagOneWay, 48, built, Unknown},
		{osmdata.Residential, osmdata.FlagOneWay, 56, built, Unknown}, // a one-way street of houses
		{osmdata.Secondary, 0, 64, built, Carriageway},
		{osmdata.Secondary, 0, 56, built, Unknown},
		{osmdata.Tertiary, 0, 56, 0, Carriageway},
		{osmdata.Tertiary, 0, 48, 0, Unknown},
		{osmdata.Residential, 0, 40, built, Unknown},
		{osmdata.Residential, 0, 40, built | mapped, Carriageway},
		{osmdata.Tertiary, 0, 48, built | telling, Carriageway},
		{osmdata.Residential, 0, 40, built | telling, Unknown}, // only main roads tell
	} {
		r := Road{c.class, c.flags, c.kmh, c.about&built != 0, c.about&mapped != 0, c.about&telling != 0}
		if got := r.Pavement(); got != c.want {
			t.Errorf("%+v: %d, want %d", r, got, c.want)
		}
	}
}

func TestSpeeds(t *testing.T) {
	for _, c := range []struct {
		region Region
		class  osmdata.Class
		legal  float32
		want   float64
	}{
		{UnitedStates, osmdata.Primary, 0, 72}, {Elsewhere, osmdata.Primary, 0, 70}, {Elsewhere, osmdata.Residential, 0, 40},
		{UnitedStates, osmdata.Primary, 11.176, 40.2336}, // 25 miles an hour, 1.609344 km each
		{UnitedStates, osmdata.Footway, 0, 0},
	} {
		if got := c.region.SpeedKMH(c.class, c.legal); math.Abs(got-c.want) > 1e-4 {
			t.Errorf("class %d: %g km/h, want %g", c.class, got, c.want)
		}
	}
	for _, c := range []struct {
		country, zone string
		want          Region
	}{{"US", "Europe/Paris", UnitedStates}, {"", "America/New_York", UnitedStates}, {"CA", "America/Toronto", Elsewhere}, {"", "Europe/Andorra", Elsewhere}, {"us", "", UnitedStates}} {
		if got := RegionOf(c.country, c.zone); got != c.want {
			t.Errorf("%q in %s: %d, want %d", c.country, c.zone, got, c.want)
		}
	}
}

// TestCrossingsAddUp: cutting an edge moves no crossing.
func TestCrossingsAddUp(t *testing.T) {
	table := silent(1)
	table.Wide[0] = Wide{Begin: .5, Along: 2, End: .25}
	if n := table.Crossings(0, 0, 100, 100); n != 2.75 {
		t.Errorf("%g on the whole edge, want 2.75", n)
	}
	if n := table.Crossings(0, 100, 0, 100); n != 2.75 {
		t.Errorf("%g against it, want 2.75", n)
	}
	if n := table.Crossings(0, 0, 30, 100) + table.Crossings(0, 100, 30, 100); math.Abs(n-2.75) > 1e-6 {
		t.Errorf("%g on two pieces, want 2.75", n)
	}
}

func TestTableRoundTrip(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	table := silent(40)
	for e := range 40 {
		for range r.IntN(3) {
			table.Stretches = append(table.Stretches, Stretch{float32(r.IntN(1<<16)) / shareSteps, float32(r.IntN(1<<16)) / speedSteps, 1e4 * r.Float32(), Pavement(r.IntN(3)), r.IntN(2) == 0})
		}
		table.At[e+1] = int32(len(table.Stretches))
		table.Wide[e] = Wide{float32(r.IntN(256)) / wideSteps, float32(r.IntN(256)) / wideSteps, float32(r.IntN(256)) / wideSteps}
	}
	magic := [8]byte{'S', 'T', 'R', 'A', 'I', 'N', 'T', 'S'}
	path := filepath.Join(t.TempDir(), "table")
	w, err := flatfile.Create(path, magic, 1)
	if err != nil {
		t.Fatal(err)
	}
	table.Encode(w, "x.")
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(path); err != nil {
		t.Fatal(err)
	}
	f, err := flatfile.Open(path, magic, 1)
	if err != nil {
		t.Fatal(err)
	}
	got, err := Decode(f, "x.")
	if err != nil || got.Check(40) != nil || got.StretchCount() != len(table.Stretches) {
		t.Errorf("comes back changed (%v, %v)", err, got.Check(40))
	}
	for e := range int32(40) {
		if !slices.Equal(got.Of(e), table.Of(e)) || got.WideOf(e) != table.Wide[e] {
			t.Errorf("edge %d comes back as %v and %v, was %v and %v", e, got.Of(e), got.WideOf(e), table.Of(e), table.Wide[e])
		}
	}
	if _, err := Decode(f, "y."); !errors.Is(err, flatfile.ErrMissing) {
		t.Errorf("without its sections: %v", err)
	}
	for name, spoil := range map[string]func(*Table){
		"edges":    func(t *Table) { t.kept.wide = t.kept.wide[1:] },
		"span":     func(t *Table) { t.kept.aadt = t.kept.aadt[1:] },
		"falling":  func(t *Table) { t.At[1] = 1 << 20 },
		"traffic":  func(t *Table) { t.kept.aadt = []float32{float32(math.NaN())}; t.At = make([]int32, 41); t.At[40] = 1 },
		"pavement": func(t *Table) { t.kept.facts = slices.Clone(t.kept.facts); t.kept.facts[0][0] = 9 },
	} {
		bad, err := Decode(f, "x.")
		if err != nil {
			t.Fatal(err)
		}
		bad.At = append([]int32(nil), bad.At...)
		if spoil(&bad); !errors.Is(bad.Check(40), ErrTable) {
			t.Errorf("%s: %v, want ErrTable", name, bad.Check(40))
		}
	}
}

// TestUnsoundTablesAreRefused: each invariant that is broken is told, and a sound table has
// none that is.
func TestUnsoundTablesAreRefused(t *testing.T) {
	sound := func() Table {
		return Table{At: []int32{0, 1, 2}, Wide: make([]Wide, 2), Stretches: []Stretch{{Share: 1, SpeedKMH: 50, AADT: 100}, {Share: 0.5, Pavement: Carriageway, Main: true}}}
	}
	if table := sound(); table.Check(2) != nil {
		t.Fatal(table.Check(2))
	}
	nan := float32(math.NaN())
	for says, breaks := range map[string]func(t *Table){
		"2 places for 2 edges": func(t *Table) { t.At = t.At[:2] }, "1 crossings": func(t *Table) { t.Wide = t.Wide[:1] },
		"do not span the 1": func(t *Table) { t.Stretches = t.Stretches[:1] }, "do not span": func(t *Table) { t.At[0] = 1 }, "places fall at edge 1": func(t *Table) { t.At[1] = 3 },
		"edge 0 has crossings {Begin:-1": func(t *Table) { t.Wide[0].Begin = -1 }, "Along:NaN": func(t *Table) { t.Wide[1].Along = nan }, "End:-2": func(t *Table) { t.Wide[1].End = -2 },
		"stretch 0 is {Share:1.1": func(t *Table) { t.Stretches[0].Share = 1.1 }, "{Share:-0.1": func(t *Table) { t.Stretches[1].Share = -0.1 }, "SpeedKMH:NaN": func(t *Table) { t.Stretches[0].SpeedKMH = nan },
		"AADT:-1": func(t *Table) { t.Stretches[0].AADT = -1 }, "stretch 1 is": func(t *Table) { t.Stretches[1].Pavement = pavementCount },
	} {
		table := sound()
		breaks(&table)
		if err := table.Check(2); !errors.Is(err, ErrTable) || !strings.Contains(err.Error(), says) {
			t.Errorf("it is told %v, want it to say %q", err, says)
		}
	}
}

// TestExplainedIsWhatIsPriced: the terms of an edge add up to its price at every hour, tell
// the vehicles of the hour, and are doubled unless it is daylight; main roads are counted to
// the whole of an edge at most.
func TestExplainedIsWhatIsPriced(t *testing.T) {
	table := Table{At: []int32{0, 3, 3, 4}, Wide: make([]Wide, 3), Stretches: []Stretch{
		{Share: 0.4, SpeedKMH: 70, AADT: 9000, Pavement: Carriageway, Main: true}, {Share: 0.8, SpeedKMH: 50, AADT: 4000, Pavement: Unknown, Main: true}, {Share: 0.2, SpeedKMH: 30, AADT: 300, Pavement: Separate},
		{Share: 0.3, SpeedKMH: 60, AADT: 2000, Pavement: Unknown}}}
	lights := map[bool]int{}
	for hour := range 24 {
		m := moment(hour, 30)
		per := table.PerS([]int32{2, 0, 1}, m, nil)
		for i, e := range []int32{2, 0, 1} {
			terms, dark := table.Explain(e, m)
			sum := 0.0
			for _, x := range terms {
				sum += x.PerS
				if want := float64(x.AADT) * hours.ShapeOf(hours.Cars).At(m); math.Abs(x.PerHour-want) > 1e-9 || math.Abs(x.Stretch.PerHour(m)-want) > 1e-9 {
					t.Errorf("at %d:30 %g vehicles pass, want %g", hour, x.PerHour, want)
				}
			}
			if math.Abs(sum-float64(per[i])) > 1e-8 || dark != (m.Light() != hours.Daylight) {
				t.Errorf("at %d:30 edge %d costs %g a second, its terms %g; dark %v", hour, e, per[i], sum, dark)
			}
			lights[dark]++
		}
	}
	if len(lights) != 2 {
		t.Errorf("light and dark: %v", lights)
	}
	for e, want := range map[int32]float64{0: 1, 1: 0, 2: 0} {
		if got := table.MainShare(e); math.Abs(got-want) > 1e-6 {
			t.Errorf("edge %d lies on or beside a main road by %g, want %g", e, got, want)
		}
	}
	for p, says := range map[Pavement]string{Separate: "a pavement or a way of its own", Unknown: "nobody has mapped whether there is a pavement", Carriageway: "no pavement", pavementCount: "no pavement"} {
		if p.String() != says {
			t.Errorf("pavement %d reads %q", p, p)
		}
	}
}

// silent is the table of edges without any traffic.
func silent(edges int) Table {
	return Table{At: make([]int32, edges+1), Wide: make([]Wide, edges)}
}
