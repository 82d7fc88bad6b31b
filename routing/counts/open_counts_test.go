package counts

import (
	"context"
	"encoding/csv"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
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
	x, err := osmdata.ReadFile(context.Background(), folder+name, exposure.Rules(), nil)
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

// table reads a CSV file into rows by column name.
func table(t testing.TB, name string) (out []map[string]string) {
	t.Helper()
	file, err := os.Open(folder + name)
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

// Shares of what the model keeps together, and the Gamma shapes that the score is
// defined with (people 1.0, or 0.7 where few places are mapped; bicycles 1.0; motor
// 1.5).
const bicyclesAmongWheels = .88

// dayShare is the mean share of a working day in an hour from 9 to 15 h.
func dayShare(a hours.Activity) float64 {
	sum := 0.0
	for h := 9; h <= 15; h++ {
		sum += hours.ShapeOf(a).Busy[h] / 7
	}
	return sum
}

// site is one counting camera's segment: means an hour, from 9 to 15 h on working
// days.
type site struct {
	name, use                       string
	place                           [2]float64
	ways                            []int64
	lanes                           float64
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
	for _, s := range adlershof(t) {
		m, ok := Match(c.g, Place{At: c.x.Frame.Forward(s.place[0], s.place[1]), Ways: s.ways, WithinM: 25, HalfM: 22})
		if !ok {
			t.Logf("%s matches nothing", s.name)
			continue
		}
		add := func(name string, predicted, counted, shape float64) {
			out[name] = append(out[name], Pair{s.name, predicted, counted, shape})
		}
		walking := dayShare(hours.People)*c.flow(m.All, exposure.WalkingTrips) +
			dayShare(hours.Dogs)*c.flow(m.All, exposure.DogWalks) + dayShare(hours.SchoolTrips)*c.flow(m.All, exposure.SchoolTrips)
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
		add("bicycles", bicyclesAmongWheels*dayShare(hours.Bicycles)*c.flow(m.All, exposure.WheelTrips), s.bicycles, 1)
		add("motor", dayShare(hours.Cars)*c.flow(m.Road, exposure.CarTraffic, exposure.HeavyTraffic), s.motors, 1.5)
		add("heavy", dayShare(hours.Cars)*c.flow(m.Road, exposure.HeavyTraffic), s.heavy, 1.5)
	}
	return out
}

// centre holds the points in a London borough against the model.
func centre(t testing.TB, c *counted) pairsOf {
	out := pairsOf{}
	for _, r := range table(t, "london_borough_points.csv") {
		at := plane.Point(c.x.Frame.Forward(number(t, r["lon"]), number(t, r["lat"])))
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
				Pair{r["point"], wheels * bicyclesAmongWheels * c.flow(m.All, exposure.WheelTrips), number(t, r["pedal_cycles"]), 1})
		}
	}
	return out
}

// row is a score as one line.
func row(name string, s Score) string {
	return fmt.Sprintf("  %-34s n %d  GM %.3f  scatter x%.2f  Spearman %.2f (%.2f to %.2f)  within x3 %d/%d  rescaled %d/%d  inside 80 %% %d/%d",
		name, s.N, s.GM, s.Scatter, s.Spearman, s.SpearLow, s.SpearHi, s.Within3, s.N, s.Rescaled, s.N, s.Inside80, s.N)
}

// seeds of the draws of routes: a score of one is partly luck.
const seeds = 3

// TestFiguresOfCounts prints the score.
func TestFiguresOfCounts(t *testing.T) {
	for seed := range uint64(seeds) {
		c := place(t, "adlershof.osm.pbf", seed)
		got := suburb(t, c)
		for _, kind := range []string{"people", "people as counted", "bicycles", "motor", "heavy"} {
			t.Log(row(fmt.Sprintf("Adlershof %s, seed %d", kind, seed), Of(got[kind])))
			if seed > 0 {
				continue
			}
			for _, p := range got[kind] {
				t.Logf("      %s %8.1f predicted %8.1f counted  x%.2f", p.Name, p.Predicted, p.Counted, p.Predicted/p.Counted)
			}
		}
		for _, name := range []string{"bicycle trips", "bicycle km", "bicycle km of residents", "km on foot", "vehicle km", "legs lost", "bicycle trips lost", "bicycle trips from outside", "dwellings in houses", "dwellings in flats"} {
			t.Logf("      %s %.0f", name, c.f.Census[name])
		}
		c = place(t, "london_borough.osm.pbf", seed)
		got = centre(t, c)
		for _, kind := range []string{"motor, day", "motor, 8-9 h", "bicycles, 8-9 h"} {
			t.Log(row(fmt.Sprintf("London Borough %s, seed %d", kind, seed), Of(got[kind])))
			if seed > 0 {
				continue
			}
			for _, p := range got[kind] {
				t.Logf("      %s %8.1f predicted %8.1f counted", p.Name, p.Predicted, p.Counted)
			}
		}
	}
}
