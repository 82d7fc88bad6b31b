package api_test

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"strings"
	"testing"

	"wideberth/api"
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
		if stands != 1 || math.Abs(gap-60*v.StayMinutes) > 1 || math.Abs(end-drawn.Walk.DurationS) > 1 {
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
