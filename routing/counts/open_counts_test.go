package counts

import (
	"context"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata"
	"wideberth/routing/network"
	"wideberth/routing/survey"
)

// Open counts with a map of the same place; origin, licence and the credit line
// stand in testdata/counts/README.md. Map data © OpenStreetMap contributors (ODbL
// 1.0). Street counts: Telraam and Berlin zählt Mobilität (CC BY 4.0); contains
// public sector information licensed under the Open Government Licence v3.0
// (Department for Transport; London Borough of Southwark).
const folder = "../../testdata/counts/"

// counted is a map with its network and field.
type counted struct {
	x *osmdata.Extract
	g *network.Graph
	f *exposure.Field
}

// place reads and surveys one of the maps; another seed draws other routes.
func place(t testing.TB, name string, seed uint64) *counted {
	t.Helper()
	x, err := osmdata.Options{Rules: exposure.Rules()}.ReadFile(context.Background(), folder+name)
	if err != nil {
		t.Fatal(err)
	}
	g, _, err := network.Build(x.Streets, x.Barred, network.Options{})
	if err != nil {
		t.Fatal(err)
	}
	f, err := survey.Survey(context.Background(), x, g, survey.Options{Seed: seed})
	if err != nil {
		t.Fatal(err)
	}
	return &counted{x, g, f}
}

// table reads one of the files into rows by column name.
func table(t testing.TB, name string) []map[string]string { return rowsOf(t, folder+name) }

func rowsOf(t testing.TB, path string) (out []map[string]string) {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rows[1:] {
		row := map[string]string{}
		for i, key := range rows[0] {
			row[key] = r[i]
		}
		out = append(out, row)
	}
	return out
}

func number(t testing.TB, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func waysOf(t testing.TB, s string) (out []int64) {
	for _, w := range strings.Fields(s) {
		out = append(out, int64(number(t, w)))
	}
	return out
}

// flow is the passes a day on edges, some patterns together.
func (c *counted) flow(edges []int32, patterns ...exposure.Pattern) (sum float64) {
	for _, p := range patterns {
		for _, e := range edges {
			sum += float64(c.f.OwnPerDay[p][e])
		}
	}
	return sum
}

// dayShare is the mean share of a day in an hour from 9 to 15 h on the working days of
// the months that were counted, October to December 2024, in their season.
func (c *counted) dayShare(t testing.TB, a hours.Activity) float64 {
	t.Helper()
	clock := &hours.Clock{Loc: berlin(t), Lat: c.x.Frame.Lat0, Lon: c.x.Frame.Lon0, Country: "DE"}
	sum, n := 0.0, 0.0
	for d := hours.NewDate(2024, 10, 1); d < hours.NewDate(2025, 1, 1); d += 3 {
		for h := 9; h <= 15; h++ {
			m := clock.At(d.In(clock.Loc).Add(time.Duration(h)*time.Hour + 30*time.Minute))
			if m.Hour() != h || d.Weekday() == time.Saturday || d.Weekday() == time.Sunday {
				continue
			}
			sum += hours.ShapeOf(a).Busy[h] * m.Season().People[a]
			n++
		}
	}
	return sum / n
}

func berlin(t testing.TB) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

// site is one counting camera's segment: means an hour, from 9 to 15 h on working
// days.
type site struct {
	name, use                       string
	place                           [2]float64
	ways                            []int64
	people, bicycles, motors, heavy float64
	hours                           int
}

// adlershof reads the segments by the fixed rule: hours 9 to 15 of working days
// with at least five days behind them, at least six such hours.
func adlershof(t testing.TB) (out []site) {
	for _, r := range table(t, "adlershof_hourly.csv") {
		h := number(t, r["hour"])
		if r["day"] != "working" || h < 9 || h > 15 || number(t, r["days"]) < 5 {
			continue
		}
		if len(out) == 0 || out[len(out)-1].name != r["segment"] {
			out = append(out, site{name: r["segment"], use: r["people_use"], ways: waysOf(t, r["way"]),
				place: [2]float64{number(t, r["lon"]), number(t, r["lat"])}})
		}
		s := &out[len(out)-1]
		s.people += number(t, r["people"])
		s.bicycles += number(t, r["bicycles"])
		s.motors += number(t, r["cars"]) + number(t, r["heavies"])
		s.heavy += number(t, r["heavies"])
		s.hours++
	}
	var kept []site
	for _, s := range out {
		if s.hours < 6 {
			continue
		}
		n := float64(s.hours)
		s.people, s.bicycles, s.motors, s.heavy = s.people/n, s.bicycles/n, s.motors/n, s.heavy/n
		kept = append(kept, s)
	}
	return kept
}

// pairsOf are the rows of a score by name.
type pairsOf map[string][]Pair

// suburb holds the segments of Adlershof against the model.
func suburb(t testing.TB, c *counted) pairsOf {
	out := pairsOf{}
	foot, dogs, school := c.dayShare(t, hours.People), c.dayShare(t, hours.Dogs), c.dayShare(t, hours.SchoolTrips)
	wheels, cars := c.dayShare(t, hours.Bicycles), c.dayShare(t, hours.Cars)
	for _, s := range adlershof(t) {
		m, ok := Match(c.g, Place{At: c.x.Frame.Forward(s.place[0], s.place[1]), Ways: s.ways, WithinM: 25, HalfM: 22})
		if !ok {
			t.Logf("%s matches nothing", s.name)
			continue
		}
		add := func(name string, predicted, counted, shape float64) {
			out[name] = append(out[name], Pair{s.name, predicted, counted, shape})
		}
		walking := foot*c.flow(m.All, exposure.WalkingTrips) + dogs*c.flow(m.All, exposure.DogWalks) + school*c.flow(m.All, exposure.SchoolTrips)
		shape := 1.0
		if c.f.Marks[m.Edge]&exposure.FewPlaces != 0 {
			shape = .7
		}
		switch s.use {
		case "as counted":
			add("people", walking, s.people, shape)
		case "double":
			add("people", walking, 2*s.people, shape)
		}
		if s.use != "drop" {
			add("people as counted", walking, s.people, shape)
		}
		add("bicycles", exposure.BicyclesAmongWheels*wheels*c.flow(m.All, exposure.WheelTrips), s.bicycles, 1)
		add("motor", cars*c.flow(m.Road, exposure.CarTraffic, exposure.HeavyTraffic), s.motors, 1.5)
		add("heavy", cars*c.flow(m.Road, exposure.HeavyTraffic), s.heavy, 1.5)
	}
	return out
}

// centre holds the points in a London borough against the model.
func centre(t testing.TB, c *counted) pairsOf {
	out := pairsOf{}
	for _, r := range table(t, "london_borough_points.csv") {
		at := c.x.Frame.Forward(number(t, r["lon"]), number(t, r["lat"]))
		m, ok := Match(c.g, Place{At: at, Ways: waysOf(t, r["way"]), WithinM: 20, HalfM: 18, Driven: true})
		if !ok {
			t.Logf("%s matches nothing", r["point"])
			continue
		}
		cars, wheels := 1., 1.
		if r["span"] == "8-9 h" {
			cars, wheels = hours.ShapeOf(hours.Cars).Busy[8], hours.ShapeOf(hours.Bicycles).Busy[8]
		}
		out["motor, "+r["span"]] = append(out["motor, "+r["span"]],
			Pair{r["point"], cars * c.flow(m.Road, exposure.CarTraffic, exposure.HeavyTraffic), number(t, r["motor"]), 1.5})
		if r["pedal_cycles"] != "" {
			out["bicycles, "+r["span"]] = append(out["bicycles, "+r["span"]],
				Pair{r["point"], wheels * exposure.BicyclesAmongWheels * c.flow(m.All, exposure.WheelTrips), number(t, r["pedal_cycles"]), 1})
		}
	}
	return out
}

// row is a score as one line.
func row(name string, s Score) string {
	return fmt.Sprintf("  %-36s n %d  GM %.2f  scatter x%.2f  Spearman %.2f (%.2f to %.2f)  within x3 %d/%d  rescaled %d/%d  inside 80 %% %d/%d",
		name, s.N, s.GM, s.Scatter, s.Spearman, s.SpearLow, s.SpearHi, s.Within3, s.N, s.Rescaled, s.N, s.Inside80, s.N)
}

// goal is what a kind must reach, as far as nine streets of one suburb allow to ask.
// The shapes are those that the score was fixed with: people 1.0, or 0.7 where few
// places are mapped; bicycles 1.0; motors 1.5.
type goal struct {
	kind           string
	low, high      float64 // GM
	scatter        float64
	inside, within int
}

var goals = []goal{
	{"bicycles", .7, 1.4, 2, 6, 7},
	{"motor", .75, 1.3, 1.6, 6, 7},
	{"people", .5, 2, 4.2, 5, 0},
}

// seeds of the draws of routes: a score of one is partly luck.
const seeds = 3

// TestFiguresAgainstCounts holds the levels of a suburb against its counts, whatever
// routes are drawn, and prints the score.
func TestFiguresAgainstCounts(t *testing.T) {
	for seed := range uint64(seeds) {
		c := place(t, "adlershof.osm.pbf", seed)
		got := suburb(t, c)
		for _, kind := range []string{"people", "people as counted", "bicycles", "motor", "heavy"} {
			t.Log(row(fmt.Sprintf("Adlershof %s, seed %d", kind, seed), Of(got[kind])))
			if testing.Verbose() && seed == 0 {
				for _, p := range got[kind] {
					t.Logf("      %s %8.1f predicted %8.1f counted  x%.2f", p.Name, p.Predicted, p.Counted, p.Predicted/p.Counted)
				}
			}
		}
		for _, g := range goals {
			s := Of(got[g.kind])
			if !(s.GM >= g.low && s.GM <= g.high) || !(s.Scatter < g.scatter) || s.Inside80 < g.inside || s.Within3 < g.within {
				t.Errorf("seed %d, %s: %s; want GM %g to %g, scatter below %g, %d inside, %d within x3", seed, g.kind, row("", s), g.low, g.high, g.scatter, g.inside, g.within)
			}
		}
		c = place(t, "london_borough.osm.pbf", seed)
		got = centre(t, c)
		for _, kind := range []string{"motor, day", "motor, 8-9 h", "bicycles, 8-9 h"} {
			t.Log(row(fmt.Sprintf("London Borough %s, seed %d", kind, seed), Of(got[kind])))
		}
		if s := Of(got["motor, day"]); s.GM < .5 || s.GM > 2 || s.Scatter > 3 {
			t.Errorf("seed %d, London: %s; want GM 0.5 to 2, scatter below 3", seed, row("", s))
		}
		for e, m := range c.f.Marks {
			if m&exposure.CutCatchment == 0 {
				t.Fatalf("an extract of under a square kilometre does not say at edge %d that its border cuts what rides there", e)
			}
		}
	}
}

// The watershed: an edge of one road had a fifth of its neighbours' traffic, where the
// catchments of two exits met.
func TestNoWatershedOnDoerpfeldstrasse(t *testing.T) {
	c := place(t, "adlershof.osm.pbf", 0)
	by := map[string]float64{}
	for _, p := range suburb(t, c)["motor"] {
		by[p.Name] = p.Predicted
	}
	if here, next := by["9000001786"], by["9000003790"]; here < .5*next || here > 2*next {
		t.Errorf("%.0f vehicles an hour, on the same road farther on %.0f", here, next)
	}
}

// Kilometres a person and day against national surveys, from memory: by bicycle 1.3 and
// on foot 0.9 with walks for their own sake (Germany, MiD 2017), by motor vehicle as a
// driver on the streets of a place about 20; a suburb may lie half or twice there.
func TestFiguresOfKilometres(t *testing.T) {
	c := place(t, "adlershof.osm.pbf", 0)
	h := exposure.HabitsOf("DE")
	people := (c.f.Census["dwellings in houses"] + c.f.Census["dwellings in flats"]) * h.Persons
	for _, x := range []struct {
		name string
		got  float64
		want float64
	}{
		{"by bicycle", c.f.Census["bicycle km"] / people, 1.3},
		{"on foot", c.f.Census["km on foot"] / people, .9},
		{"by motor vehicle", c.f.Census["vehicle km"] / people, 20},
	} {
		t.Logf("  %-24s %6.2f km a person and day, surveys %.1f", x.name, x.got, x.want)
		if x.got < x.want/2 || x.got > 2*x.want {
			t.Errorf("%s: %.2f km a person and day, surveys %.1f", x.name, x.got, x.want)
		}
	}
}

// By street class, medians of Berlin's other segments (hours 9 to 15 of working days)
// beside those of the suburb's edges. Motors on through streets lie within a factor of
// two; small streets are told only: residents chose which of them to count, and they
// chose busy ones.
func TestFiguresByClass(t *testing.T) {
	c := place(t, "adlershof.osm.pbf", 0)
	wheels, cars, foot := c.dayShare(t, hours.Bicycles), c.dayShare(t, hours.Cars), c.dayShare(t, hours.People)
	classes := map[string]osmdata.Class{"secondary": osmdata.Secondary, "tertiary": osmdata.Tertiary, "residential": osmdata.Residential}
	for _, r := range table(t, "berlin_classes.csv") {
		class, ok := classes[r["highway"]]
		if !ok {
			continue
		}
		var flows []float64
		for e := range int32(c.g.EdgeCount()) {
			if c.g.Class[e] != class {
				continue
			}
			one := []int32{e}
			switch r["kind"] {
			case "motor":
				flows = append(flows, cars*c.flow(one, exposure.CarTraffic, exposure.HeavyTraffic))
			case "bicycles":
				flows = append(flows, wheels*exposure.BicyclesAmongWheels*c.flow(one, exposure.WheelTrips))
			case "people":
				flows = append(flows, foot*c.flow(one, exposure.WalkingTrips))
			}
		}
		if len(flows) == 0 {
			continue
		}
		slices.Sort(flows)
		got, want := flows[len(flows)/2], number(t, r["median_per_hour"])
		t.Logf("  %-12s %-9s median %7.1f an hour, Berlin %7.1f", r["highway"], r["kind"], got, want)
		if r["kind"] == "motor" && class != osmdata.Residential && (got < want/2 || got > 2*want) {
			t.Errorf("%s %s: median %.1f an hour, Berlin %.1f", r["highway"], r["kind"], got, want)
		}
	}
}

// TestFiguresOfProfiles tells how far the built-in hour profiles lie from counted ones,
// where a folder has them: their licence was not seen, so they are not shipped.
func TestFiguresOfProfiles(t *testing.T) {
	dir := os.Getenv("WIDEBERTH_PROFILES")
	if dir == "" {
		t.Skip("WIDEBERTH_PROFILES names no folder with profiles_bicycle.csv and profiles_people_centre.csv")
	}
	for _, p := range []struct {
		file, column string
		profile      hours.Profile
		most         float64
	}{
		{"profiles_bicycle.csv", "working", hours.ShapeOf(hours.Bicycles).Busy, .05}, {"profiles_bicycle.csv", "free", hours.ShapeOf(hours.Bicycles).Free, .05},
		{"profiles_people_centre.csv", "working", hours.ShapeOf(hours.People).Busy, .08}, {"profiles_people_centre.csv", "weekend", hours.ShapeOf(hours.People).Free, .08},
	} {
		var counted []float64
		for _, r := range rowsOf(t, filepath.Join(dir, p.file)) {
			counted = append(counted, number(t, r[p.column]))
		}
		tv := totalVariation(p.profile[:], counted)
		t.Logf("  %-28s %-8s total variation %.3f", p.file, p.column, tv)
		if tv > p.most {
			t.Errorf("%s, %s: total variation %.3f, want at most %g", p.file, p.column, tv, p.most)
		}
	}
}

// The hours that the cameras see by daylight, 9 to 15 h, against the built-in shares
// of the same hours.
func TestProfilesByDaylight(t *testing.T) {
	var counted [2][7]float64 // bicycles, motors
	for _, r := range table(t, "adlershof_hourly.csv") {
		if h := int(number(t, r["hour"])); r["day"] == "working" && h >= 9 && h <= 15 {
			counted[0][h-9] += number(t, r["bicycles"])
			counted[1][h-9] += number(t, r["cars"])
		}
	}
	for i, a := range []hours.Activity{hours.Bicycles, hours.Cars} {
		if tv := totalVariation(hours.ShapeOf(a).Busy[9:16], counted[i][:]); tv > .08 {
			t.Errorf("%s from 9 to 15 h: total variation %.3f", hours.ShapeOf(a).Name, tv)
		}
	}
}
