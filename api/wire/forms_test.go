package wire_test

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb/geojson"
	"pgregory.net/rapid"

	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/osmdata/plane"
	"wideberth/routing/briefing"
	"wideberth/routing/briefing/draw"
	"wideberth/routing/snapshot/maptest"
	"wideberth/routing/training/setup"
)

// bodies are all forms that go in.
var bodies = []any{
	wire.WishBody{}, wire.WeekBody{}, wire.WhereBody{}, wire.AroundBody{}, wire.ReachBody{}, wire.ExplainBody{}, wire.PlacesBody{}, wire.WayOutBody{}, wire.WaysOutBody{},
	wire.Shown{}, wire.Given{}, wire.HandOutBody{}, wire.PictureBody{}, wire.OutingBody{}, wire.DayBody{}, wire.CheckBody{}, wire.OutingWalksBody{}, wire.OutingPaper{}, wire.Timetable{},
	wire.VantageBody{}, wire.VisitsBody{}, wire.RevisitBody{}, wire.VisitPaper{}, wire.VisitPictureBody{}, wire.SetupBody{}, wire.SetupSheetBody{}, wire.SetupPictureBody{},
	wire.ProgressBody{}, wire.DecisionBody{}, wire.CopyBody{}, wire.PersonBody{}, wire.DocumentBody{}, wire.KeptSequence{},
}

// filled gives every field of a form, however deep, a value of its own.
func filled(v reflect.Value, n *int) {
	*n++
	switch v.Interface().(type) {
	case time.Time:
		v.Set(reflect.ValueOf(time.Date(2026, 11, 25, 7, 10, *n%60, 0, time.UTC)))
		return
	case json.RawMessage:
		v.Set(reflect.ValueOf(json.RawMessage(fmt.Sprintf(`{"n":%d}`, *n))))
		return
	}
	switch v.Kind() {
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Float64, reflect.Float32:
		v.SetFloat(float64(*n) + 0.5)
	case reflect.Int, reflect.Int32, reflect.Int64:
		v.SetInt(int64(*n))
	case reflect.Uint64:
		v.SetUint(uint64(*n))
	case reflect.String:
		v.SetString("text " + strconv.Itoa(*n) + " <&\u2028é")
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		filled(v.Index(0), n)
		filled(v.Index(1), n)
	case reflect.Array:
		for i := range v.Len() {
			filled(v.Index(i), n)
		}
	case reflect.Map:
		v.Set(reflect.MakeMap(v.Type()))
		val := reflect.New(v.Type().Elem()).Elem()
		filled(val, n)
		v.SetMapIndex(reflect.ValueOf("key").Convert(v.Type().Key()), val)
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				filled(v.Field(i), n)
			}
		}
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		filled(v.Elem(), n)
	}
}

// TestEveryFormComesBack: with every field filled a form is read back as it was, to the
// last field. Two fields of one name, such as two embedded forms may have, are left out of
// JSON without a word; they are found here.
func TestEveryFormComesBack(t *testing.T) {
	for _, form := range bodies {
		was := reflect.New(reflect.TypeOf(form))
		n := 0
		filled(was.Elem(), &n)
		text, err := json.Marshal(was.Interface())
		if err != nil {
			t.Fatalf("%T: %v", form, err)
		}
		back := reflect.New(reflect.TypeOf(form))
		dec := json.NewDecoder(bytes.NewReader(text))
		dec.DisallowUnknownFields()
		if err := dec.Decode(back.Interface()); err != nil {
			t.Errorf("%T: %v", form, err)
			continue
		}
		if !reflect.DeepEqual(was.Interface(), back.Interface()) {
			t.Errorf("%T: %+v comes back as %+v", form, was.Elem(), back.Elem())
		}
	}
}

// TestFormsAreDescribedTruly: names are of one style and carry no second field, closed
// lists have no word twice, bounds are in order, and an example keeps to them.
func TestFormsAreDescribedTruly(t *testing.T) {
	style := regexp.MustCompile(`^[a-z][a-z0-9]*(_[a-z0-9]+)*$`)
	seen := map[reflect.Type]bool{}
	var look func(ty reflect.Type)
	look = func(ty reflect.Type) {
		for ty.Kind() == reflect.Pointer || ty.Kind() == reflect.Slice || ty.Kind() == reflect.Array || ty.Kind() == reflect.Map {
			ty = ty.Elem()
		}
		if ty.Kind() != reflect.Struct || seen[ty] || !strings.HasPrefix(ty.PkgPath(), "wideberth/") {
			return
		}
		seen[ty] = true
		for i := range ty.NumField() {
			f := ty.Field(i)
			name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			if !f.IsExported() || name == "-" {
				continue
			}
			if look(f.Type); f.Anonymous {
				continue
			}
			at := ty.Name() + "." + f.Name
			if !style.MatchString(name) {
				t.Errorf("%s is told as %q", at, name)
			}
			words := strings.Split(f.Tag.Get("enum"), ",")
			for k, w := range words {
				if slices.Contains(words[:k], w) {
					t.Errorf("%s lists %q twice", at, w)
				}
			}
			bound := func(tag string, none float64) float64 {
				text, ok := f.Tag.Lookup(tag)
				if !ok {
					return none
				}
				x, err := strconv.ParseFloat(text, 64)
				if err != nil {
					t.Errorf("%s: %s is %q", at, tag, text)
				}
				return x
			}
			low, high := bound("minimum", math.Inf(-1)), bound("maximum", math.Inf(1))
			if low > high || bound("minLength", 0) > bound("maxLength", math.Inf(1)) || bound("minItems", 0) > bound("maxItems", math.Inf(1)) {
				t.Errorf("%s can have no value", at)
			}
			example, ok := f.Tag.Lookup("example")
			if !ok {
				continue
			}
			if f.Type.Kind() == reflect.Float64 || f.Type.Kind() == reflect.Int {
				if x, err := strconv.ParseFloat(example, 64); err != nil || x < low || x > high {
					t.Errorf("%s: the example %s is outside %g to %g", at, example, low, high)
				}
			}
			if f.Tag.Get("enum") != "" && !slices.Contains(words, example) {
				t.Errorf("%s: the example %q is none of %v", at, example, words)
			}
			if strings.HasPrefix(example, "2026-") {
				if _, err := time.Parse(time.RFC3339, example); err != nil {
					t.Errorf("%s: %v", at, err)
				}
			}
		}
	}
	for _, form := range bodies {
		look(reflect.TypeOf(form))
	}
	for _, form := range []any{wire.Plan{}, wire.DrawnPlan{}, wire.RankedStreets{}, wire.Sources{}, wire.Explanation{}, wire.Week{}, wire.Where{}, wire.WaysOut{}, wire.WaysOutAlong{}, wire.OutingCheck{},
		wire.Sequence{}, wire.VantageList{}, wire.VisitDrawn{}, wire.SetupList{}, wire.MapInfo{}, wire.FoundPlaces{}, wire.CountReport{}, wire.SequenceProgress{}, wire.ProposalInfo{}, wire.KeptReport{}} {
		look(reflect.TypeOf(form))
	}
	if len(seen) < 90 {
		t.Errorf("looked at %d forms", len(seen))
	}
}

// trackXML writes points as a device may: places as xsd:decimal in any of its forms, times
// in any zone, with elements between that mean nothing to a track.
func trackXML(t *rapid.T, points []kept.TrackPoint) string {
	var b strings.Builder
	b.WriteString(`<?xml version="1.0"?><gpx xmlns="http://www.topografix.com/GPX/1/1" xmlns:d="urn:device" version="1.1" creator="d"><metadata><time>1999-01-01T00:00:00Z</time></metadata><trk><name>a</name><trkseg>`)
	for _, p := range points {
		if rapid.IntRange(0, 4).Draw(t, "cut") == 0 {
			b.WriteString("</trkseg></trk>\n<trk><trkseg>")
		}
		number := func(x float64) string {
			text := strconv.FormatFloat(x, 'f', -1, 64)
			switch rapid.IntRange(0, 3).Draw(t, "form") {
			case 0:
				return strconv.FormatFloat(x, 'e', -1, 64)
			case 1:
				if !math.Signbit(x) {
					return "+" + text
				}
			case 2:
				if strings.Contains(text, ".") {
					return text + "000"
				}
			}
			return text
		}
		fmt.Fprintf(&b, `<trkpt lon="%s" d:lat="junk" lat='%s'><ele>12</ele>`, number(p.Lon), number(p.Lat))
		if !p.At.IsZero() {
			zone := time.FixedZone("", 900*rapid.IntRange(-48, 56).Draw(t, "zone"))
			fmt.Fprintf(&b, "<time>\n %s </time>", p.At.In(zone).Format(time.RFC3339Nano))
		}
		b.WriteString(rapid.SampledFrom([]string{"", "<extensions><d:time>x</d:time><time>y</time></extensions>", "<!-- <time>z</time> -->", "<fix>3d</fix>"}).Draw(t, "more"))
		b.WriteString("</trkpt>")
	}
	b.WriteString("</trkseg></trk><extensions><trk><trkseg><trkpt/></trkseg></trk></extensions></gpx>")
	return b.String()
}

// TestTracksComeBack: whatever a device does to its points within the schema of GPX 1.1,
// they are read as they were, and lie on a plane where a frame puts them.
func TestTracksComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var points []kept.TrackPoint
		at := time.Date(2026, 11, 25, 7, 10, 0, 0, time.UTC)
		for range rapid.IntRange(1, 12).Draw(t, "points") {
			p := kept.TrackPoint{Lat: rapid.Float64Range(-90, 90).Draw(t, "lat"), Lon: rapid.Float64Range(-180, 180).Draw(t, "lon")}
			at = at.Add(time.Duration(rapid.IntRange(0, 90_000).Draw(t, "ms")) * time.Millisecond)
			if rapid.Bool().Draw(t, "timed") {
				p.At = at
			}
			points = append(points, p)
		}
		got, err := wire.ReadGPX(strings.NewReader(trackXML(t, points)))
		if err != nil || len(got) != len(points) {
			t.Fatalf("%d points of %d, %v", len(got), len(points), err)
		}
		f := plane.NewFrame(points[0].Lon, points[0].Lat)
		walked := wire.Walked(got, f)
		for i, p := range points {
			if got[i].Lat != p.Lat || got[i].Lon != p.Lon || !got[i].At.Equal(p.At) {
				t.Fatalf("point %d is %v, was %v", i, got[i], p)
			}
			if walked[i].At != f.Forward(p.Lon, p.Lat) && !math.IsNaN(walked[i].At.X) || !walked[i].When.Equal(p.At) {
				t.Fatalf("point %d lies at %v", i, walked[i])
			}
		}
	})
}

// haversineM is the length of the great circle between two places by Sinnott 1984 (Sky and
// Telescope 68:159), on a sphere of any one radius: only shares of a line are taken.
func haversineM(a, b wire.Position) float64 {
	rad := math.Pi / 180
	h := math.Pow(math.Sin((b[1]-a[1])*rad/2), 2) + math.Cos(a[1]*rad)*math.Cos(b[1]*rad)*math.Pow(math.Sin((b[0]-a[0])*rad/2), 2)
	return 2 * 6371008.8 * math.Asin(math.Sqrt(h))
}

// gpxOut is what is read of a file that was written.
type gpxOut struct {
	Version string `xml:"version,attr"`
	Meta    struct {
		Desc      string `xml:"desc"`
		Time      string `xml:"time"`
		Copyright struct {
			Author  string `xml:"author,attr"`
			License string `xml:"license"`
		} `xml:"copyright"`
	} `xml:"metadata"`
	Points []gpxOutPoint `xml:"wpt"`
	Tracks []struct {
		Name   string        `xml:"name"`
		Desc   string        `xml:"desc"`
		Points []gpxOutPoint `xml:"trkseg>trkpt"`
	} `xml:"trk"`
}

type gpxOutPoint struct {
	Lat  float64 `xml:"lat,attr"`
	Lon  float64 `xml:"lon,attr"`
	Name string  `xml:"name"`
	Desc string  `xml:"desc"`
	Time string  `xml:"time"`
}

// TestGPXTimesFollowTheGround: the time of a point within a leg is the leg's by the share
// of ground behind it; each walk begins at the departure; names are told as they are,
// whatever letters they have.
func TestGPXTimesFollowTheGround(t *testing.T) {
	name := `Weaver's <Row> & "Kiln"`
	line := []wire.Position{{-7, 47.2}, {-7, 47.201}, {-6.998, 47.201}, {-6.998, 47.204}}
	home := []wire.Position{{-6.998, 47.204}, {-6.999, 47.205}}
	walk := wire.Walk{DurationS: 700, LengthM: 820, Legs: []wire.Leg{
		{Name: name, DurationS: 600, LengthM: 700, Clock: "07:10", Level: "calm", Geometry: wire.LineString{Coordinates: line}},
		{Name: "Race Walk", StartS: 600, DurationS: 100, LengthM: 120, Clock: "07:20", Level: "some", Geometry: wire.LineString{Coordinates: home}},
		{Name: "nothing"}},
		WatchPoints: []wire.WatchPoint{{What: "source", Name: "Kiln Park", At: wire.Position{-6.9985, 47.2042}, FromM: 300}}}
	p := wire.Plan{Depart: "2026-11-25T07:10:00-05:00", Caution: wire.Caution(briefing.Words{}), Walks: []wire.Walk{walk, walk}}
	var file bytes.Buffer
	if err := p.GPX(&file); err != nil {
		t.Fatal(err)
	}
	var out gpxOut
	if err := xml.Unmarshal(file.Bytes(), &out); err != nil {
		t.Fatal(err)
	}
	if out.Version != "1.1" || out.Meta.Time != "2026-11-25T12:10:00Z" || out.Meta.Desc != wire.Caution(briefing.Words{}) || out.Meta.Copyright.Author != "OpenStreetMap contributors" || out.Meta.Copyright.License != wire.LicenceURL {
		t.Errorf("%+v", out.Meta)
	}
	if len(out.Tracks) != 2 || out.Tracks[0].Name != "Walk A" || out.Tracks[1].Name != "Walk B" || !strings.HasPrefix(out.Tracks[0].Desc, "12 min, 0.8 km") || !strings.HasSuffix(out.Tracks[0].Desc, wire.Attribution) {
		t.Fatalf("%+v", out.Tracks)
	}
	depart := time.Date(2026, 11, 25, 12, 10, 0, 0, time.UTC)
	var whole float64
	for i := 1; i < len(line); i++ {
		whole += haversineM(line[i-1], line[i])
	}
	for _, tr := range out.Tracks {
		if len(tr.Points) != 5 {
			t.Fatalf("%d points", len(tr.Points))
		}
		gone := 0.0
		for i, q := range tr.Points {
			want := 700.0
			if i < len(line) {
				if i > 0 {
					gone += haversineM(line[i-1], line[i])
				}
				want = 600 * gone / whole
			}
			at, err := time.Parse(time.RFC3339, q.Time)
			if off := at.Sub(depart).Seconds() - want; err != nil || off > 0.01 || off < -1.01 { // told in whole seconds
				t.Errorf("point %d at %s, %.1f s off (%v)", i, q.Time, off, err)
			}
		}
	}
	if len(out.Points) != 3 || out.Points[0].Name != name || out.Points[0].Desc != "07:10, 700 m, calm" || out.Points[2].Name != "Watch: Kiln Park" || out.Points[2].Desc != "source" || out.Points[2].Lat != 47.2042 {
		t.Errorf("%+v", out.Points)
	}
	still := wire.Plan{Depart: p.Depart, Walks: []wire.Walk{{Legs: []wire.Leg{{DurationS: 60, Geometry: wire.LineString{Coordinates: []wire.Position{{-7, 47}, {-7, 47}}}}}}}}
	file.Reset()
	if err := still.GPX(&file); err != nil || strings.Contains(file.String(), "NaN") || strings.Count(file.String(), "<trkpt") != 2 {
		t.Errorf("a leg of no length: %v %s", err, file.String())
	}
}

// TestGeoJSONOfLittle: a plan without walks is a collection of nothing, as RFC 7946,
// section 3.3, has it: a list, and no box round it; the members of a leg are its own.
func TestGeoJSONOfLittle(t *testing.T) {
	var file bytes.Buffer
	if err := new(wire.Plan).GeoJSON(&file); err != nil {
		t.Fatal(err)
	}
	var top map[string]json.RawMessage
	if err := json.Unmarshal(file.Bytes(), &top); err != nil || string(top["features"]) != "[]" || top["bbox"] != nil || string(top["type"]) != `"FeatureCollection"` || top["attribution"] == nil {
		t.Errorf("%s (%v)", file.String(), err)
	}
	leg := wire.Leg{Name: "Kiln Lane", Turn: "left", Clock: "07:12", DurationS: 61, LengthM: 75, Reactions: 0.01, Level: "tight", RoomLeftM: 2, RoomRightM: 3, SightM: 44, Geometry: wire.LineString{Coordinates: []wire.Position{{-7, 47}, {-7, 47.001}}}}
	p := wire.Plan{Walks: []wire.Walk{{Legs: []wire.Leg{leg}}}}
	file.Reset()
	if err := p.GeoJSON(&file); err != nil {
		t.Fatal(err)
	}
	fc, err := geojson.UnmarshalFeatureCollection(file.Bytes())
	if err != nil || len(fc.Features) != 1 {
		t.Fatal(err)
	}
	want := geojson.Properties{"walk": 1.0, "leg": 1.0, "name": "Kiln Lane", "turn": "left", "clock": "07:12", "duration_s": 61.0, "length_m": 75.0, "expected_reactions": 0.01, "level": "tight", "room_left_m": 2.0, "room_right_m": 3.0, "sight_m": 44.0}
	if !reflect.DeepEqual(fc.Features[0].Properties, want) {
		t.Errorf("%v", fc.Features[0].Properties)
	}
}

// TestDrawingFollowsTheBand: every three metres the profile has the sample of the band that
// lies nearest, as going through all of them finds it; runs of ground are the walk; every
// outline is closed.
func TestDrawingFollowsTheBand(t *testing.T) {
	s := maptest.Invented()
	dog := maptest.Kessa()
	plans, err := told()
	if err != nil {
		t.Fatal(err)
	}
	around := 0
	for shape, plan := range plans {
		scene, err := draw.NewScene(s, plan, 0, &dog, briefing.Words{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		d := wire.NewDrawing(scene, s.Frame)
		sound(t, d)
		pr := d.Profile
		n := int(scene.Walk.LengthM/3) + 1
		if pr.StepM != 3 || len(pr.LeftM) != n || len(pr.RightM) != n || len(pr.Step) != n || len(pr.AssumedLeft) != n || len(pr.AssumedRight) != n || len(pr.SightM) != n {
			t.Fatalf("%s: %d samples for %.1f m", shape, len(pr.LeftM), scene.Walk.LengthM)
		}
		for i := range n {
			m := float64(3 * i)
			best := 0
			for k := range scene.Band.Samples {
				if math.Abs(scene.Band.Samples[k].FromM-m) <= math.Abs(scene.Band.Samples[best].FromM-m) {
					best = k
				}
			}
			at := &scene.Band.Samples[best]
			if math.Abs(pr.LeftM[i]-at.LeftM) > 0.051 || math.Abs(pr.RightM[i]-at.RightM) > 0.051 || pr.Step[i] != at.Step || pr.AssumedLeft[i] != at.Assumed[0] || pr.AssumedRight[i] != at.Assumed[1] || math.Abs(pr.SightM[i]-at.SightM) > 0.51 {
				t.Errorf("%s: at %g m another sample than number %d", shape, m, best)
			}
		}
		var lengthM float64
		for i, run := range d.Line {
			onEarth(t, "a run", run.Line...)
			for k := 1; k < len(run.Line); k++ {
				lengthM += run.Line[k-1].In(s.Frame).DistanceM(run.Line[k].In(s.Frame))
			}
			if i > 0 && run.Step == d.Line[i-1].Step {
				t.Errorf("%s: two runs of step %d in a row", shape, run.Step)
			}
		}
		if math.Abs(lengthM-scene.Walk.LengthM) > 0.02*scene.Walk.LengthM+5 {
			t.Errorf("%s: runs of %.0f m, a walk of %.0f m", shape, lengthM, scene.Walk.LengthM)
		}
		for _, a := range d.Around {
			around++
			for _, ring := range append(slices.Clone(a.Area), a.Works, a.Reacts) {
				if len(ring) > 0 && (len(ring) < 4 || ring[0] != ring[len(ring)-1]) {
					t.Errorf("%s: the outline of %s is open", shape, a.Name)
				}
			}
		}
		for _, b := range d.Beside {
			if b.FromM > b.ToM || b.NearM > b.FarM || b.NearM < 0 || b.FromM < -1 || b.ToM > scene.Walk.LengthM+1 {
				t.Errorf("%s: %+v", shape, b)
			}
		}
	}
	if around == 0 {
		t.Error("no source is near any walk")
	}
}

// TestNoSetupSaysWhy: a search that found nothing says so, with its numbers and cautions.
func TestNoSetupSaysWhy(t *testing.T) {
	s := maptest.Invented()
	found := setup.Found{InReach: 9, Quiet: 4, LookedAt: 3, LeastX: 0.4, WorkingM: 20.04, MaxX: 0.2}
	out := wire.NewSetupList(&found, &setup.Wish{At: maptest.Morning}, s, nil, briefing.Words{})
	sound(t, out)
	if out.At != "2026-11-25T07:10:00Z" || out.WorkingM != 20 || out.InReach != 9 || out.Quiet != 4 || out.LookedAt != 3 || out.Laid != 0 || out.Lack == "" || len(out.Setups) != 0 || len(out.Cautions) != 3 || len(out.Assumed) != 4 || out.Cautions[2] != wire.Caution(briefing.Words{}) {
		t.Errorf("%+v", out)
	}
}
