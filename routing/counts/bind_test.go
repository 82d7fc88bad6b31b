package counts_test

import (
	"bytes"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata/fault"
	"wideberth/routing/counts"
)

var now = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

// Every row of a file counts, whatever stands beside; an empty field was not counted.
func TestReadCounts(t *testing.T) {
	list, name, err := counts.Read(strings.NewReader("\ufeffName,lat, lon,start,minutes,dogs,wheels\n"+
		"\"corner, north\",47.1,-7.2,2026-11-24T08:00:00+01:00,10,2,\n\n"+
		"south,47.2,-7.3,2026-11-24T09:00:00Z,60,,12.5\n"), now)
	if err != nil {
		t.Fatal(err)
	}
	if len(list) != 2 || list[0].Lat != 47.1 || *list[0].Dogs != 2 || list[0].Wheels != nil || list[1].Dogs != nil || *list[1].Wheels != 12.5 || list[0].People != nil {
		t.Fatalf("%+v", list)
	}
	if pointer, told := name(1); !list[0].Start.Equal(time.Date(2026, 11, 24, 7, 0, 0, 0, time.UTC)) || pointer != "/row 4" || told != "row 4" {
		t.Errorf("start %v, second row %s", list[0].Start, pointer)
	}
	var file bytes.Buffer
	if err := counts.Write(&file, list); err != nil {
		t.Fatal(err)
	}
	if again, _, err := counts.Read(&file, now); err != nil || len(again) != 2 || *again[0].Dogs != 2 || again[1].Dogs != nil || !again[1].Start.Equal(list[1].Start) {
		t.Errorf("written and read again: %+v, %v", again, err)
	}
}

// What is wrong is told by row and column, all of it at once, and nothing is taken.
func TestReadBadCounts(t *testing.T) {
	const head = "lat,lon,start,minutes,dogs,people\n"
	for _, c := range []struct{ name, text, at, mend string }{
		{"empty", "", "/row 1", "column names"},
		{"no column of time", "lat,lon,minutes,dogs\n47,7,10,1\n", "/row 1/start", "missing"},
		{"nothing counted", "lat,lon,start,minutes\n", "/row 1/people", "no column"},
		{"a column twice", "lat,lon,lat,start,minutes,dogs\n", "/row 1/lat", "twice"},
		{"no zone", head + "47,7,2026-11-24T08:00:00,10,1,1\n", "/row 2/start", "with its zone"},
		{"a word", head + "47,7,2026-11-24T08:00:00Z,ten,1,1\n", "/row 2/minutes", "number"},
		{"not a number", head + "47,7,2026-11-24T08:00:00Z,10,NaN,1\n", "/row 2/dogs", "number"},
		{"negative", head + "47,7,2026-11-24T08:00:00Z,10,1,1\n47,7,2026-11-24T09:00:00Z,10,1,-3\n", "/row 3/people", "give 0 to"},
		{"absurd", head + "47,7,2026-11-24T08:00:00Z,10,1,90000\n", "/row 2/people", "give 0 to"},
		{"off the globe", head + "97,7,2026-11-24T08:00:00Z,10,1,1\n", "/row 2/lat", "degrees"},
		{"days", head + "47,7,2026-11-01T08:00:00Z,5000,1,1\n", "/row 2/minutes", "1 to 1440"},
		{"to come", head + "47,7,2027-11-24T08:00:00Z,10,1,1\n", "/row 2/start", "future"},
		{"long ago", head + "47,7,0204-11-24T08:00:00Z,10,1,1\n", "/row 2/start", "since"},
		{"none given", head + "47,7,2026-11-24T08:00:00Z,10,,\n", "/row 2/people", "nothing was counted"},
		{"an open quote", head + "47,7,2026-11-24T08:00:00Z,10,1,\"1\n", "/row 2", "quote"},
		{"a field short", head + "47,7,2026-11-24T08:00:00Z,10,1\n", "/row 2", "wrong number of fields"},
	} {
		list, _, err := counts.Read(strings.NewReader(c.text), now)
		var wrong fault.Problems
		if !errors.As(err, &wrong) || list != nil || wrong[0].Pointer != c.at || !strings.Contains(wrong[0].Mend, c.mend) {
			t.Errorf("%s: %v with %v; want %s: %s", c.name, err, list, c.at, c.mend)
		}
	}
	_, _, err := counts.Read(strings.NewReader(head+"x,7,2026-11-24T08:00:00Z,10,1,1\n47,y,2026-11-24,10,1,1\n"), now)
	if wrong := (fault.Problems)(nil); !errors.As(err, &wrong) || len(wrong) != 3 {
		t.Errorf("three faults are told as %v", wrong)
	}
	many := head + strings.Repeat("47,7,2026-11-24T08:00:00Z,10,1,1\n", counts.MostRows+1)
	if _, _, err := counts.Read(strings.NewReader(many), now); err == nil || !strings.Contains(err.Error(), "at most") {
		t.Errorf("too many rows: %v", err)
	}
}

// onStreets is the suburb's map with a field of one level everywhere, and its streets.
func onStreets(t *testing.T) (*counts.Map, *counts.Counted) {
	c := counts.PlaceForTest(t, "adlershof.osm.pbf")
	loc, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	return &counts.Map{Graph: c.Graph, Field: c.Field, Frame: c.Frame, Clock: &hours.Clock{Loc: loc, Lat: c.Frame.Lat0, Lon: c.Frame.Lon0, Country: "DE"}}, c
}

// at is a count of an hour in the middle of an edge.
func at(m *counts.Map, e int32, start time.Time) exposure.Count {
	line := m.Graph.EdgeLine(e)
	lon, lat := m.Frame.Inverse(line.At(line.LengthM() / 2))
	return exposure.Count{Lat: lat, Lon: lon, Start: start, Minutes: 60}
}

// Counts off the map, and two of one place at one time, are named by row.
func TestCheckCounts(t *testing.T) {
	m, _ := onStreets(t)
	start := now.Add(-48 * time.Hour)
	a, b := at(m, 10, start), at(m, 10, start.Add(30*time.Minute))
	later := at(m, 10, start.Add(60*time.Minute))
	out := a
	out.Lat++
	where := func(i int) (string, string) { return "/row " + string(rune('2'+i)), "row " + string(rune('2'+i)) }
	if wrong := m.Check([]exposure.Count{a, later}, where); len(wrong) > 0 {
		t.Errorf("one place at two times: %v", wrong)
	}
	wrong := m.Check([]exposure.Count{a, out, b}, where)
	if len(wrong) != 2 || wrong[0].Pointer != "/row 3/lat" || wrong[1].Pointer != "/row 4/start" || !strings.Contains(wrong[1].Mend, "the other is row 2") {
		t.Errorf("a place outside and one counted twice: %v", wrong)
	}
}

// A long count binds what passes there and raises the evidence; it reaches the next
// streets less, others kinds not at all, and the field that it came from stays as it is.
func TestBindLevels(t *testing.T) {
	m, _ := onStreets(t)
	e := busiest(m)
	var list []exposure.Count
	for day := range 10 {
		c := at(m, e, time.Date(2026, 5, 4+day, 10, 0, 0, 0, m.Clock.Loc))
		line, ok := counts.Match(m.Graph, counts.Place{At: m.Frame.Forward(c.Lon, c.Lat), WithinM: 25, HalfM: 22, Paths: true})
		if !ok || line.Edge != e {
			t.Fatalf("the count matches %v", line)
		}
		c.Set(exposure.Wheels, 4*m.Field.Expected(line.All, exposure.Wheels, &c, m.Clock))
		list = append(list, c)
	}
	levels, report, err := m.Bind(list)
	if err != nil {
		t.Fatal(err)
	}
	f := m.Field.WithLevels(levels)
	if got := f.PerDay(exposure.WheelTrips, e) / m.Field.PerDay(exposure.WheelTrips, e); math.Abs(got/4-1) > .2 {
		t.Errorf("four times as many were counted; bound by %.2f", got)
	}
	if f.PerDay(exposure.DogWalks, e) != m.Field.PerDay(exposure.DogWalks, e) || f.Counted(e, exposure.Dogs) {
		t.Error("bicycles were counted, and dogs changed")
	}
	if !f.Counted(e, exposure.Wheels) || m.Field.Counted(e, exposure.Wheels) {
		t.Error("the evidence did not rise, or rose in the field as it was")
	}
	mean, n := 0.0, 0.0
	for o, l := range levels {
		if d := m.Graph.EdgeLine(o).At(0).DistanceM(m.Graph.EdgeLine(e).At(0)); d > 300 && d < 1000 && m.Graph.Class[o] != m.Graph.Class[e] {
			mean, n = mean+math.Log(float64(l.Own[exposure.Wheels])), n+1
		}
	}
	if mean /= n; !(mean > .1 && mean < .6*math.Log(4)) {
		t.Errorf("streets about rose by %.2f on average", math.Exp(mean))
	}
	chaser := &exposure.Dog{ByCategory: map[exposure.Category]exposure.Need{exposure.Wheels: {WorkingM: 20, ReactionM: 8}}}
	at := m.Clock.At(time.Date(2026, 5, 6, 5, 30, 0, 0, m.Clock.Loc)) // few pass: the dead time of the busiest way hides little
	x := func(f *exposure.Field) float64 {
		sum, told := float64(f.Sums(chaser, []int32{e}).Hazard(at, nil, nil)[0]), 0.0
		for _, term := range f.Explain(e, chaser, at, nil) {
			told += term.HazardPerS
			if f.Counted(e, exposure.Wheels) && term.Kind == exposure.Bicycle && (term.Evidence != exposure.FromCounts || term.Shape < 2) {
				t.Fatalf("evidence %v with shape %g", term.Evidence, term.Shape)
			}
		}
		if math.Abs(sum/told-1) > .02 { // distances come in cells
			t.Errorf("the fast form has %g, the full one %g", sum, told)
		}
		return sum
	}
	if x(f) < 2*x(m.Field) {
		t.Errorf("hazard %g, before %g", x(f), x(m.Field))
	}
	if s := report.Scores[exposure.Wheels]; s.N != 10 || math.Abs(s.GM-.25) > .02 || len(report.Lines) != 10 {
		t.Errorf("the report has %+v, %d lines", s, len(report.Lines))
	}
	if _, r, err := m.Bind([]exposure.Count{{Lat: 10, Lon: 10, Start: now, Minutes: 10}}); err != nil || r.Lost != 1 {
		t.Errorf("a count on another map: %v, %+v", err, r)
	}
}

func busiest(m *counts.Map) (best int32) {
	for e, q := range m.Field.OwnPerDay[exposure.WheelTrips] {
		if q > m.Field.OwnPerDay[exposure.WheelTrips][best] && m.Graph.LengthM[e] > 60 {
			best = int32(e)
		}
	}
	return best
}

// Street by street, the open counts of the suburb: told of its own count a street is
// right; told of all others, the one that was left out is not much worse than from the
// map alone. Eight other streets of one suburb teach a ninth nothing: its streets
// differ from each other more than the suburb differs from the model. Counts spread
// as means, which lie above the middle of what is doubtful.
func TestFiguresOfCountsLeftOut(t *testing.T) {
	m, c := onStreets(t)
	var list []exposure.Count
	for _, s := range c.Sites {
		k := exposure.Count{Lat: s.Lat, Lon: s.Lon, Start: time.Date(2024, 11, 12, 9, 0, 0, 0, m.Clock.Loc), Minutes: 7 * 60}
		k.Set(exposure.Wheels, 7*s.Bicycles)
		k.Set(exposure.Traffic, 7*s.Motors)
		if s.People >= 0 {
			k.Set(exposure.People, 7*s.People)
		}
		list = append(list, k)
	}
	_, all, err := m.Bind(list)
	if err != nil {
		t.Fatal(err)
	}
	var before, after, within [exposure.Sounds][]counts.Pair
	for i := range list {
		_, r, err := m.Bind(slices.Delete(slices.Clone(list), i, i+1))
		if err != nil || r.Lost > 0 {
			t.Fatal(err, r.Lost)
		}
		levels, _, err := m.Bind(slices.Delete(slices.Clone(list), i, i+1))
		if err != nil {
			t.Fatal(err)
		}
		f := m.Field.WithLevels(levels)
		for _, l := range all.Lines {
			if l.Count != i {
				continue
			}
			line, _ := counts.Match(m.Graph, counts.Place{At: m.Frame.Forward(list[i].Lon, list[i].Lat), WithinM: 25, HalfM: 22, Paths: true})
			edges := line.All
			if l.Of == exposure.Traffic {
				edges = line.Road
			}
			before[l.Of] = append(before[l.Of], counts.Pair{Predicted: l.Predicted, Counted: l.Counted, Shape: 1})
			within[l.Of] = append(within[l.Of], counts.Pair{Predicted: l.Bound, Counted: l.Counted, Shape: 1})
			after[l.Of] = append(after[l.Of], counts.Pair{Predicted: f.Expected(edges, l.Of, &list[i], m.Clock), Counted: l.Counted, Shape: 1})
		}
	}
	for _, of := range []exposure.Category{exposure.People, exposure.Wheels, exposure.Traffic} {
		a, b, w := counts.Of(before[of]), counts.Of(after[of]), counts.Of(within[of])
		t.Logf("  %-8s from the map alone GM %.2f scatter x%.2f; told of the other streets GM %.2f scatter x%.2f; told of all GM %.2f scatter x%.2f", of, a.GM, a.Scatter, b.GM, b.Scatter, w.GM, w.Scatter)
		if math.Abs(math.Log(b.GM)) > math.Abs(math.Log(a.GM))+.15 || b.Scatter > 1.25*a.Scatter {
			t.Errorf("%s: told of other streets GM %.2f scatter %.2f, from the map alone %.2f and %.2f", of, b.GM, b.Scatter, a.GM, a.Scatter)
		}
		if math.Abs(math.Log(w.GM)) > .25 || w.Scatter > 1.6 {
			t.Errorf("%s: where it was counted GM %.2f scatter %.2f", of, w.GM, w.Scatter)
		}
	}
}

// Counts that are as predicted change nothing that is worth a word.
func TestBindWhatWasPredicted(t *testing.T) {
	m, _ := onStreets(t)
	e := busiest(m)
	c := at(m, e, time.Date(2026, 5, 5, 10, 0, 0, 0, m.Clock.Loc))
	line, _ := counts.Match(m.Graph, counts.Place{At: m.Frame.Forward(c.Lon, c.Lat), WithinM: 25, HalfM: 22, Paths: true})
	c.Set(exposure.Wheels, m.Field.Expected(line.All, exposure.Wheels, &c, m.Clock))
	levels, _, err := m.Bind([]exposure.Count{c})
	if err != nil {
		t.Fatal(err)
	}
	for o, l := range levels {
		if x := float64(l.Own[exposure.Wheels]); math.Abs(math.Log(x)) > .25 {
			t.Fatalf("edge %d changes by %.2f", o, x)
		}
	}
}

// Whatever a file holds, it is read whole or refused with words for each fault; what was
// read is written and read again as it was.
func FuzzRead(f *testing.F) {
	f.Add("lat,lon,start,minutes,dogs\n47,7,2026-11-24T08:00:00Z,10,1\n")
	f.Add("lat,lon,start,minutes,people,wheels\n47,7,2026-11-24T08:00:00+01:00,10,1,\n\n\"x\n")
	f.Add("\ufefflat;lon\n")
	f.Fuzz(func(t *testing.T, text string) {
		list, _, err := counts.Read(strings.NewReader(text), now)
		if err != nil {
			if wrong := (fault.Problems)(nil); !errors.As(err, &wrong) || len(wrong) == 0 || list != nil || wrong[0].Mend == "" {
				t.Fatalf("%v with %v", err, list)
			}
			return
		}
		var file bytes.Buffer
		if err := counts.Write(&file, list); err != nil {
			t.Fatal(err)
		}
		again, _, err := counts.Read(&file, now)
		if err != nil || len(again) != len(list) {
			t.Fatalf("%d read, %d again: %v", len(list), len(again), err)
		}
		for i := range list {
			a, b := &list[i], &again[i]
			if a.Lat != b.Lat || a.Minutes != b.Minutes || !a.Start.Equal(b.Start) {
				t.Fatalf("%+v became %+v", a, b)
			}
		}
	})
}
