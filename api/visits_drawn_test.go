package api_test

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"reflect"
	"strings"
	"testing"

	"wideberth/api"
	"wideberth/api/wire"
	"wideberth/testdata"
)

// TestVisitDrawn plans visits in the town, then asks for each what one goes by: the
// walk ends where the way home ends, one stands as long as planned at the place, and
// the picture names what is watched.
func TestVisitDrawn(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	wish := fmt.Sprintf(`{"from":{"lat":%g,"lon":%g},"kind":"dogs"%s,"times":["2026-11-28T07:20:00Z","2026-11-28T15:20:00Z"],"max_expected_reactions":3}`,
		testdata.DoorLat, testdata.DoorLon, kessa)
	var seq struct{ Visits []visitBody }
	answer(t, h, "/v1/visits", wish, &seq)
	if len(seq.Visits) == 0 {
		t.Fatal("no visits in the town")
	}
	for i, v := range seq.Visits {
		again := fmt.Sprintf(`{"wish":%s,"at":{"lat":%v,"lon":%v},"watched":%q,"arrive":%q,"stay_minutes":%v`, wish, v.At[1], v.At[0], v.Watched.OSM, v.Arrive, v.StayMinutes)
		var drawn struct {
			Visit visitBody
			Walk  struct {
				DurationS float64 `json:"duration_s"`
				Legs      []struct {
					StartS    float64 `json:"start_s"`
					DurationS float64 `json:"duration_s"`
				}
				WatchPoints []struct {
					What string
					AtS  float64 `json:"at_s"`
				} `json:"watch_points"`
			}
			Drawing struct {
				Profile struct {
					LeftM []float64 `json:"left_m"`
				}
				Need struct {
					WorkingM float64 `json:"working_m"`
				}
				Around []struct {
					Name    string
					Watched bool
					Works   [][2]float64
				}
			}
			Arc [][2]float64
		}
		answer(t, h, "/v1/visits/drawings", again+"}", &drawn)
		if drawn.Visit.Arrive != v.Arrive || math.Abs(drawn.Visit.DistanceM-v.DistanceM) > 2 {
			t.Errorf("visit %d: drawn as %+v, planned as %+v", i+1, drawn.Visit, v)
		}
		stands := 0
		for _, p := range drawn.Walk.WatchPoints {
			if p.What == "stand" {
				stands++
			}
		}
		gap, end := 0.0, 0.0
		for _, l := range drawn.Walk.Legs {
			gap, end = max(gap, l.StartS-end), l.StartS+l.DurationS
		}
		if stands != 1 || gap < 60*v.StayMinutes-1 || gap > 60*v.StayMinutes+101 || /* 60 m over open ground at most, there and back */ math.Abs(end-drawn.Walk.DurationS) > 1 {
			t.Errorf("visit %d: %d places to stand, %.0f s between the legs for %g minutes, legs end at %.0f of %.0f s", i+1, stands, gap, v.StayMinutes, end, drawn.Walk.DurationS)
		}
		if drawn.Drawing.Need.WorkingM != 38 || len(drawn.Drawing.Profile.LeftM) == 0 {
			t.Errorf("visit %d: drawn for %g m, %d places measured", i+1, drawn.Drawing.Need.WorkingM, len(drawn.Drawing.Profile.LeftM))
		}
		around, stood := drawn.Drawing.Around, 0
		for _, a := range around {
			if a.Watched {
				stood++
			}
		}
		if stood != 1 || !around[0].Watched || around[0].Name != v.Watched.Name || len(around[0].Works) < 4 {
			t.Errorf("visit %d: %q is watched, around the walk first is %+v", i+1, v.Watched.Name, around[0])
		}
		near := math.Inf(1)
		for _, q := range drawn.Arc {
			near = min(near, math.Hypot(111320*math.Cos(v.At[1]*math.Pi/180)*(q[0]-v.At[0]), 111320*(q[1]-v.At[1])))
		}
		if len(drawn.Arc) < 10 || near > 2 {
			t.Errorf("visit %d: the arc of equal distance comes within %.1f m of the stand", i+1, near)
		}
		res, svg := do(t, h, "POST", "/v1/visits/pictures", "", again+`,"theme":"dark","width_px":390,"height_px":392}`)
		if res.StatusCode != http.StatusOK || res.Header.Get("Content-Type") != "image/svg+xml" || !strings.Contains(string(svg), "stand here") || !strings.Contains(string(svg), "OpenStreetMap") {
			t.Errorf("visit %d: picture %d %s %.200s", i+1, res.StatusCode, res.Header.Get("Content-Type"), svg)
		}
	}
}

// visitBody is what these tests read of a visit.
type visitBody struct {
	At      [2]float64
	Watched struct {
		Name, OSM string
	}
	Arrive      string
	StayMinutes float64 `json:"stay_minutes"`
	DistanceM   float64 `json:"distance_m"`
}

// answer asks and reads; everything but 200 ends the test.
func answer(t *testing.T, h http.Handler, path, body string, into any) {
	t.Helper()
	res, got := do(t, h, "POST", path, "", body)
	if res.StatusCode != http.StatusOK {
		t.Fatalf("%s: %d %s", path, res.StatusCode, got)
	}
	if err := json.Unmarshal(got, into); err != nil {
		t.Fatal(err)
	}
}

// TestOneSearchForAVisit: a kept visit is drawn, pictured and printed by the ways it was
// planned with, and so is one that was planned for another hour by those that came with
// it; only planning searches.
func TestOneSearchForAVisit(t *testing.T) {
	s := newSchool(t, false)
	p, err := town()
	if err != nil {
		t.Fatal(err)
	}
	seq, _ := s.keep("v")
	v := seq.Visits[0]
	count := func(want int64, method, path, body string, status int, into any) string {
		t.Helper()
		before := p.Land().Searches()
		text := s.send(method, path, s.handler, body, status, into)
		if n := p.Land().Searches() - before; n != want {
			t.Errorf("%s %s: %d searches, want %d", path, body[:min(len(body), 80)], n, want)
		}
		return string(text)
	}
	ask := func(arrive, more string) string {
		return fmt.Sprintf(`{"sequence":"v","visit":1,"arrive":%q%s}`, arrive, more)
	}
	ground := func(w *wire.Walk) (out [][]int32) {
		for i := range w.Legs {
			out = append(out, w.Legs[i].Edges)
		}
		return out
	}
	var drawn wire.VisitDrawn
	count(0, "POST", "/v1/visits/drawings", ask(v.Arrive, ""), 200, &drawn)
	if d := drawn.Visit; !reflect.DeepEqual(ground(&d.WayIn), ground(&v.WayIn)) || !reflect.DeepEqual(ground(&d.WayHome), ground(&v.WayHome)) || d.ExpectedReactions != v.ExpectedReactions || *d.Given != *v.Given {
		t.Errorf("drawn with %g reactions by %v, planned with %g by %v", d.ExpectedReactions, d.Given, v.ExpectedReactions, v.Given)
	}
	count(0, "POST", "/v1/visits/pictures", ask(v.Arrive, ""), 200, nil)
	count(0, "POST", "/v1/visits/handouts", ask(v.Arrive, ""), 200, nil)
	count(1, "POST", "/v1/visits/replan", ask(v.Arrive, ""), 200, nil)

	const later = "2026-11-28T10:30:00Z"
	var other wire.Visit
	count(1, "POST", "/v1/visits/replan", ask(later, ""), 200, &other)
	given := func(g wire.GivenVisit) string {
		text, err := json.Marshal(g)
		if err != nil {
			t.Fatal(err)
		}
		return `,"given":` + string(text)
	}
	count(0, "POST", "/v1/visits/drawings", ask(later, given(*other.Given)), 200, &drawn)
	if *drawn.Visit.Given != *other.Given || drawn.Visit.ExpectedReactions != other.ExpectedReactions {
		t.Errorf("drawn %+v, planned %+v", drawn.Visit.Given, other.Given)
	}
	count(0, "POST", "/v1/visits/handouts", ask(later, given(*other.Given)), 200, nil)
	count(1, "POST", "/v1/visits/drawings", ask(later, ""), 200, nil) // nobody says by which ways

	// Of a map whose edges had other numbers the lines count; where they lead over no street
	// the ways are found anew, and screen and paper say so.
	matched := wire.GivenVisit{Map: "other", In: "AAAA", Home: "AAAA", InLine: other.Given.InLine, HomeLine: other.Given.HomeLine}
	count(0, "POST", "/v1/visits/drawings", ask(later, given(matched)), 200, &drawn)
	if *drawn.Visit.Given != *other.Given || drawn.Visit.ExpectedReactions != other.ExpectedReactions || strings.Contains(strings.Join(drawn.Visit.Cautions, " "), "found anew") {
		t.Errorf("matched %+v %v, planned %+v", drawn.Visit.Given, drawn.Visit.Cautions, other.Given)
	}
	matched.InLine, matched.HomeLine = matched.HomeLine, matched.InLine
	if text := count(1, "POST", "/v1/visits/drawings", ask(later, given(matched)), 200, &drawn); !strings.Contains(text, "found anew") || *drawn.Visit.Given != *other.Given {
		t.Errorf("over no street: %v", drawn.Visit.Cautions)
	}
	if text := count(1, "POST", "/v1/visits/handouts", ask(later, given(matched)), 200, nil); !strings.Contains(text, "found anew") {
		t.Error("the sheet does not say that its ways were found anew")
	}

	if text := count(0, "POST", "/v1/visits/drawings", ask(later, given(wire.GivenVisit{Map: "other", In: v.Given.In, Home: v.Given.Home})), 409, nil); !strings.Contains(text, "other-map") {
		t.Errorf("%s", text)
	}
	for field, g := range map[string]wire.GivenVisit{
		"body.given.way_in":   {Map: v.Given.Map, In: "!", Home: v.Given.Home},
		"body.given.way_home": {Map: v.Given.Map, In: v.Given.In, Home: v.Given.In},
	} {
		if text := count(0, "POST", "/v1/visits/drawings", ask(later, given(g)), 422, nil); !strings.Contains(text, field) {
			t.Errorf("%s: %s", field, text)
		}
	}
}
