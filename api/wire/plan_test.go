package wire_test

import (
	"bytes"
	"context"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
	"pgregory.net/rapid"

	"wideberth/api/wire"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/outing"
	"wideberth/routing/snapshot/maptest"
)

// told are plans of the town, one of each shape, planned once.
var told = sync.OnceValues(func() (map[routing.Shape]*routing.Plan, error) {
	p, err := routing.NewPlanner(maptest.Invented(), nil)
	if err != nil {
		return nil, err
	}
	door := maptest.Door(p.Frame())
	goal := door.Add(plane.Point{X: 300, Y: 250})
	out := map[routing.Shape]*routing.Plan{}
	for _, w := range []routing.Wish{
		{Shape: routing.Calmest, Minutes: 20}, {Shape: routing.Loop, Minutes: 20, Walks: 3}, {Shape: routing.ThereAndBack, Minutes: 20},
		{Shape: routing.Way, To: &goal}, {Shape: routing.LongestCalm, MaxX: 2},
	} {
		w.From, w.Depart, w.Dog = door, maptest.Morning, maptest.Kessa()
		if out[w.Shape], err = p.Plan(context.Background(), w); err != nil {
			return nil, fmt.Errorf("%s: %w", w.Shape, err)
		}
	}
	return out, nil
})

// eachPlan runs a test on the wire form of every plan.
func eachPlan(t *testing.T, f func(t *testing.T, p *routing.Plan, out *wire.Plan)) {
	t.Helper()
	plans, err := told()
	if err != nil {
		t.Fatal(err)
	}
	frame := maptest.Invented().Frame
	for shape, p := range plans {
		t.Run(string(shape), func(t *testing.T) {
			out := wire.NewPlan(p, frame, briefing.Words{})
			f(t, p, &out)
		})
	}
}

// enums finds values that the description of their field does not list.
func enums(t *testing.T, path string, v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			enums(t, path, v.Elem())
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			enums(t, fmt.Sprintf("%s/%d", path, i), v.Index(i))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			f := v.Type().Field(i)
			if !f.IsExported() {
				continue
			}
			at, omit := strings.CutSuffix(f.Tag.Get("json"), ",omitempty")
			if list := f.Tag.Get("enum"); list != "" && f.Type.Kind() == reflect.String {
				if got := v.Field(i).String(); !slices.Contains(strings.Split(list, ","), got) && (got != "" || !omit) {
					t.Errorf("%s/%s is %q, described as one of %s", path, at, got, list)
				}
			}
			enums(t, path+"/"+at, v.Field(i))
		}
	}
}

// TestWordsAreAmongThoseDescribed: every word of a closed list that a plan tells is in
// the list that the interface is described with.
func TestWordsAreAmongThoseDescribed(t *testing.T) {
	eachPlan(t, func(t *testing.T, _ *routing.Plan, out *wire.Plan) { enums(t, "", reflect.ValueOf(out)) })
}

// TestPlanSurvivesJSON: what is written is read back as it was, and no list is null
// (RFC 8259 has both, a reader of lists wants only one).
func TestPlanSurvivesJSON(t *testing.T) {
	eachPlan(t, func(t *testing.T, _ *routing.Plan, out *wire.Plan) {
		text, err := json.Marshal(out)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(text, []byte(":null")) {
			t.Errorf("a null in %s", text)
		}
		var back wire.Plan
		dec := json.NewDecoder(bytes.NewReader(text))
		dec.DisallowUnknownFields()
		if err := dec.Decode(&back); err != nil {
			t.Fatal(err)
		}
		again, err := json.Marshal(back)
		if err != nil || !bytes.Equal(text, again) {
			t.Errorf("read back as another plan: %v", err)
		}
	})
}

// TestLegsMakeTheWalk: times and lengths of the legs are those of the walk, each leg
// begins where and when the one before ends, and its clock is the departure's and the
// seconds'; rounding of each leg (0.05 in what is told to 0.1, half a microdegree of
// place) is all that may differ.
func TestLegsMakeTheWalk(t *testing.T) {
	eachPlan(t, func(t *testing.T, p *routing.Plan, out *wire.Plan) {
		if len(out.Walks) != len(p.Walks) || len(out.Walks) == 0 {
			t.Fatalf("%d walks of %d", len(out.Walks), len(p.Walks))
		}
		for _, w := range out.Walks {
			var s, m, x float64
			slack := 0.051 * float64(len(w.Legs)+1)
			for i, l := range w.Legs {
				if math.Abs(l.StartS-s) > slack {
					t.Errorf("leg %d begins at %.1f s, the ones before last %.1f s", i, l.StartS, s)
				}
				if want := p.Depart.Add(time.Duration(l.StartS * float64(time.Second))); math.Abs(clockS(t, l.Clock)-float64(want.Hour()*3600+want.Minute()*60)) > 60 {
					t.Errorf("leg %d at %v by its seconds, at %s by its clock", i, want, l.Clock)
				}
				line := l.Geometry.Coordinates
				if len(line) < 2 || len(l.Edges) == 0 {
					t.Fatalf("leg %d has %d places and %d edges", i, len(line), len(l.Edges))
				}
				if i > 0 {
					if before := w.Legs[i-1].Geometry.Coordinates; before[len(before)-1] != line[0] {
						t.Errorf("leg %d begins at %v, the one before ends at %v", i, line[0], before[len(before)-1])
					}
				}
				s, m, x = s+l.DurationS, m+l.LengthM, x+l.Reactions
			}
			if math.Abs(s-w.DurationS) > slack || math.Abs(m-w.LengthM) > slack {
				t.Errorf("legs of %.1f s and %.1f m make a walk of %.1f s and %.1f m", s, m, w.DurationS, w.LengthM)
			}
			if !(w.CalmLow <= w.CalmChance && w.CalmChance <= w.CalmHigh) || x < 0 {
				t.Errorf("chance %g outside %g to %g", w.CalmChance, w.CalmLow, w.CalmHigh)
			}
		}
	})
}

func clockS(t *testing.T, text string) float64 {
	t.Helper()
	at, err := time.Parse("15:04", text)
	if err != nil {
		t.Fatal(err)
	}
	return float64(at.Hour()*3600 + at.Minute()*60)
}

// TestPlacesComeBack: degrees rounded to a millionth lie within 0.08 m of where they
// come from (half a microdegree of latitude is 0.056 m by the WGS 84 meridian, 111 km a
// degree; of longitude at most as much), and rounding twice changes nothing.
func TestPlacesComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := plane.NewFrame(rapid.Float64Range(-179, 179).Draw(t, "lon"), rapid.Float64Range(-80, 80).Draw(t, "lat"))
		p := plane.Point{X: rapid.Float64Range(-40_000, 40_000).Draw(t, "x"), Y: rapid.Float64Range(-40_000, 40_000).Draw(t, "y")}
		at := wire.NewPosition(f, p)
		back := f.Forward(at[0], at[1])
		if d := back.DistanceM(p); d > 0.081 {
			t.Fatalf("%v comes back %.3f m off", p, d)
		}
		if again := wire.NewPosition(f, back); again != at {
			t.Fatalf("%v, told again %v", at, again)
		}
	})
}

// TestGPXIsReadBack: what is written keeps the order of the schema of GPX 1.1
// (topografix.com/GPX/1/1/gpx.xsd: metadata, wpt, trk), and the reader of recorded
// tracks takes it: places of the legs to a millionth of a degree, times from the
// departure to the arrival that never run back.
func TestGPXIsReadBack(t *testing.T) {
	eachPlan(t, func(t *testing.T, p *routing.Plan, out *wire.Plan) {
		out.Walks = out.Walks[:1] // one track: the times of the next begin anew
		var file bytes.Buffer
		if err := out.GPX(&file); err != nil {
			t.Fatal(err)
		}
		rank, last := map[string]int{"metadata": 1, "wpt": 2, "rte": 3, "trk": 4}, 0
		depth := 0
		for dec := xml.NewDecoder(bytes.NewReader(file.Bytes())); ; {
			token, err := dec.Token()
			if token == nil {
				if depth != 0 {
					t.Fatalf("not well-formed: %v", err)
				}
				break
			}
			switch e := token.(type) {
			case xml.StartElement:
				if depth++; depth == 2 {
					if rank[e.Name.Local] < max(last, 1) {
						t.Errorf("%s stands where the schema has none", e.Name.Local)
					}
					last = rank[e.Name.Local]
				}
			case xml.EndElement:
				depth--
			}
		}
		walk := &out.Walks[0]
		points, err := wire.ReadGPX(&file)
		if err != nil {
			t.Fatal(err)
		}
		var want []wire.Position
		for i, l := range walk.Legs {
			line := l.Geometry.Coordinates
			if i > 0 {
				line = line[1:]
			}
			want = append(want, line...)
		}
		if len(points) != len(want) {
			t.Fatalf("%d points, the legs have %d", len(points), len(want))
		}
		for i, q := range points {
			if q.Lon != want[i][0] || q.Lat != want[i][1] {
				t.Errorf("point %d at %g, %g, want %v", i, q.Lon, q.Lat, want[i])
			}
			if i > 0 && q.At.Before(points[i-1].At) {
				t.Errorf("point %d is before the one before it", i)
			}
		}
		end := p.Depart.Add(time.Duration(walk.DurationS * float64(time.Second)))
		if off := points[len(points)-1].At.Sub(end); !points[0].At.Equal(p.Depart.Truncate(time.Second)) || off.Abs() > 3*time.Second {
			t.Errorf("from %v to %v, want %v to %v", points[0].At, points[len(points)-1].At, p.Depart, end)
		}
	})
	if err := (&wire.Plan{Depart: "today"}).GPX(&bytes.Buffer{}); err == nil {
		t.Error("a departure that is no time was written")
	}
}

// TestGeoJSONIsRead: orb reads it as an RFC 7946 collection: a line for every leg and a
// point for every watch point, the box round all of them, and the map's credit.
func TestGeoJSONIsRead(t *testing.T) {
	eachPlan(t, func(t *testing.T, _ *routing.Plan, out *wire.Plan) {
		var file bytes.Buffer
		if err := out.GeoJSON(&file); err != nil {
			t.Fatal(err)
		}
		fc, err := geojson.UnmarshalFeatureCollection(file.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		legs, watched := map[float64]int{}, map[float64]int{}
		bound := fc.Features[0].Geometry.Bound()
		for _, ft := range fc.Features {
			walk := ft.Properties.MustFloat64("walk")
			switch g := ft.Geometry.(type) {
			case orb.LineString:
				legs[walk]++
				if ft.Properties.MustInt("leg") != legs[walk] || len(g) < 2 {
					t.Errorf("leg %v of walk %v stands at %d", ft.Properties["leg"], walk, legs[walk])
				}
			case orb.Point:
				watched[walk]++
			default:
				t.Errorf("a %s", g.GeoJSONType())
			}
			bound = bound.Union(ft.Geometry.Bound())
		}
		for i, w := range out.Walks {
			if n := float64(i + 1); legs[n] != len(w.Legs) || watched[n] != len(w.WatchPoints) {
				t.Errorf("walk %v has %d legs and %d watch points, want %d and %d", n, legs[n], watched[n], len(w.Legs), len(w.WatchPoints))
			}
		}
		if fc.BBox.Bound() != bound {
			t.Errorf("the box is %v, of all %v", fc.BBox, bound)
		}
		if fc.ExtraMembers["attribution"] != wire.Attribution || fc.ExtraMembers["licence"] != wire.LicenceURL {
			t.Errorf("the map's credit is missing: %v", fc.ExtraMembers)
		}
	})
}

// table is a timetable drawn by chance.
func table(rng *rand.Rand) *outing.Timetable {
	at := func(minutes float64) time.Time {
		return maptest.Morning.Add(time.Duration(minutes * float64(time.Minute))).Truncate(time.Second)
	}
	t := &outing.Timetable{Start: maptest.Morning, Minutes: 90, Zone: "Etc/GMT", Slack: outing.Holds, ZoneM: 60, At: plane.Point{X: rng.Float64() * 500},
		Together: [][2]string{{"d0", "d1"}}}
	for d := range 1 + rng.IntN(4) {
		r := outing.Row{Dog: fmt.Sprint("d", d), Person: "Ada", Bite: rng.IntN(2) == 0, StartMin: rng.IntN(60), WishedMin: 30, GrantedMin: 20.5, NeedM: 40, Reactions: 0.01,
			UnderWay: rng.IntN(2) == 0}
		r.Meet, r.Leave, r.Back = at(float64(r.StartMin)-2), at(float64(r.StartMin)), at(float64(r.StartMin)+30)
		for s := 0.0; s < 600; s += 60 * (1 + rng.Float64()) {
			r.Line, r.ProgressS = append(r.Line, plane.Point{X: 1000 * rng.Float64(), Y: 1000 * rng.Float64()}), append(r.ProgressS, math.Round(s))
		}
		r.Holds = []outing.Hold{{At: r.Line[1], ProgressS: r.ProgressS[1], NotBefore: at(float64(r.StartMin) + 5)}}
		t.Rows = append(t.Rows, r)
	}
	return t
}

// TestTimetableComesBack: a check on the day works on what was answered, through JSON:
// nothing that it needs is lost, and places come back within 0.08 m.
func TestTimetableComesBack(t *testing.T) {
	const seed = 9
	rng := rand.New(rand.NewPCG(seed, 1))
	f := maptest.Invented().Frame
	for range 50 {
		was := table(rng)
		text, err := json.Marshal(wire.NewTimetable(was, f, briefing.Words{}))
		if err != nil || bytes.Contains(text, []byte(":null")) {
			t.Fatalf("%v: %s", err, text)
		}
		var form wire.Timetable
		if err := json.Unmarshal(text, &form); err != nil {
			t.Fatal(err)
		}
		enums(t, "", reflect.ValueOf(form))
		got, err := form.Decode(f, time.UTC)
		if err != nil {
			t.Fatal(err)
		}
		near := func(a, b plane.Point) bool { return a.DistanceM(b) < 0.081 }
		if !got.Start.Equal(was.Start) || got.Minutes != was.Minutes || got.Slack != was.Slack || got.ZoneM != was.ZoneM || !near(got.At, was.At) ||
			!slices.Equal(got.Together, was.Together) || len(got.Rows) != len(was.Rows) {
			t.Fatalf("%+v came back as %+v", was, got)
		}
		for i := range was.Rows {
			a, b := &was.Rows[i], &got.Rows[i]
			if a.Dog != b.Dog || a.Person != b.Person || a.Bite != b.Bite || a.StartMin != b.StartMin || a.NeedM != b.NeedM || a.UnderWay != b.UnderWay ||
				a.WishedMin != b.WishedMin || a.GrantedMin != b.GrantedMin || a.Reactions != b.Reactions ||
				!a.Leave.Equal(b.Leave) || !a.Meet.Equal(b.Meet) || !a.Back.Equal(b.Back) || !slices.Equal(a.ProgressS, b.ProgressS) ||
				!slices.EqualFunc(a.Line, b.Line, near) ||
				!slices.EqualFunc(a.Holds, b.Holds, func(x, y outing.Hold) bool {
					return near(x.At, y.At) && x.ProgressS == y.ProgressS && x.NotBefore.Equal(y.NotBefore)
				}) {
				t.Errorf("seed %d: row %+v came back as %+v", seed, a, b)
			}
		}
	}
}

// TestWrongTimesAreNamed: each time that cannot be read is named by its pointer, all at
// once; those that are told on paper only may be left out.
func TestWrongTimesAreNamed(t *testing.T) {
	f := maptest.Invented().Frame
	form := wire.NewTimetable(table(rand.New(rand.NewPCG(4, 4))), f, briefing.Words{})
	form.Start, form.Rows[0].Leave, form.Rows[0].Holds[0].NotBefore, form.Rows[0].Meet = "at nine", "", "soon", ""
	_, err := form.Decode(f, time.UTC)
	var wrong fault.Problems
	if !errors.As(err, &wrong) {
		t.Fatal(err)
	}
	var at []string
	for _, p := range wrong {
		at = append(at, p.Pointer)
	}
	if !slices.Equal(at, []string{"/start", "/rows/0/leave", "/rows/0/holds/0/not_before"}) {
		t.Errorf("named are %v", at)
	}
}
