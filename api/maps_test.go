package api_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"wideberth/api"
	"wideberth/api/wire"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/atlas"
	"wideberth/routing/snapshot/maptest"
	"wideberth/testdata"
)

// eastDeg is how far the second town of these tests lies from the first.
const eastDeg = 90

// twoTowns serves the invented town, and again where it is six hours later.
func twoTowns(t *testing.T) http.Handler {
	t.Helper()
	first, err := town()
	if err != nil {
		t.Fatal(err)
	}
	moved := *maptest.Invented()
	moved.Frame = plane.NewFrame(moved.Frame.Lon0+eastDeg, moved.Frame.Lat0)
	moved.Name, moved.Zone = "Far Town", "Etc/GMT-6" // six hours east of Greenwich, as POSIX counts
	second, err := routing.NewPlanner(&moved, nil)
	if err != nil {
		t.Fatal(err)
	}
	return api.New(api.Options{Atlas: atlas.Of(first, second), Now: noon, Version: "test"}).Handler()
}

// TestEachPlaceHasItsMap: two maps in one service answer for their places, with their
// zones; a place on neither is told what there is; boxes, tiles and names are of both.
func TestEachPlaceHasItsMap(t *testing.T) {
	h := twoTowns(t)
	ask := func(status int, method, path, body string, out any) string {
		t.Helper()
		r, text := do(t, h, method, path, "", body)
		if r.StatusCode != status {
			t.Fatalf("%s %s: %d %.300s", method, path, r.StatusCode, text)
		}
		if out != nil {
			if err := json.Unmarshal(text, out); err != nil {
				t.Fatal(err)
			}
		}
		return string(text)
	}
	door := func(east float64) string {
		return fmt.Sprintf(`{"lat":%g,"lon":%g}`, testdata.DoorLat, testdata.DoorLon+east)
	}
	var x [2]float64
	for i, zone := range []string{"Etc/GMT", "Etc/GMT-6"} {
		var plan struct {
			TimeZone string `json:"time_zone"`
			Walks    []struct {
				X float64 `json:"expected_reactions"`
			} `json:"walks"`
		}
		ask(200, "POST", "/v1/plans", `{"from":`+door(eastDeg*float64(i))+`,"minutes":20,"depart":"2026-11-25T07:10:00`+[]string{"Z", "+06:00"}[i]+`"`+kessa+`}`, &plan)
		if plan.TimeZone != zone || len(plan.Walks) == 0 {
			t.Fatalf("map %d is in %s with %d walks", i, plan.TimeZone, len(plan.Walks))
		}
		x[i] = plan.Walks[0].X
	}
	if x[0] <= 0 || x[1] <= 0 {
		t.Errorf("expected reactions %v", x)
	}
	if text := ask(422, "POST", "/v1/plans", `{"from":{"lat":10,"lon":20},"minutes":20}`, nil); !strings.Contains(text, "Far Town (latitude") || !strings.Contains(text, "body.from") {
		t.Errorf("a place on neither: %s", text)
	}
	var m wire.MapInfo
	ask(200, "GET", "/v1/map", "", &m)
	if len(m.Maps) != 2 || m.Maps[1].Name != "Far Town" || m.TimeZone != "Etc/GMT" || m.BBox[2]-m.BBox[0] < eastDeg {
		t.Errorf("%+v", m)
	}
	ask(200, "GET", fmt.Sprintf("/v1/map?at=%g,%g", testdata.DoorLat, testdata.DoorLon+eastDeg), "", &m)
	if m.Name != "Far Town" || m.TimeZone != "Etc/GMT-6" || !strings.HasSuffix(m.Now, "+06:00") {
		t.Errorf("there: %+v", m)
	}
	ask(422, "GET", "/v1/map?at=here", "", nil)
	var found wire.FoundPlaces
	ask(200, "POST", "/v1/places", `{"text":"Kiln Park","near":`+door(eastDeg)+`}`, &found)
	if len(found.Places) < 1 || found.Places[0].At.Lon < 45 {
		t.Errorf("near the far town %+v", found)
	}
	var all, one wire.Hazards
	box := func(east float64) string {
		return fmt.Sprintf(`{"bbox":[%g,%g,%g,%g],"depart":"2026-11-25T08:15:00Z"}`, testdata.DoorLon-.002, testdata.DoorLat-.002, testdata.DoorLon+.002+east, testdata.DoorLat+.002)
	}
	ask(200, "POST", "/v1/hazards", box(0), &one)
	ask(200, "POST", "/v1/hazards", box(eastDeg), &all)
	lon := map[bool]int{}
	for _, f := range all.Features {
		lon[f.Geometry.Coordinates[0][0] > 45]++
	}
	if len(one.Features) == 0 || lon[false] < len(one.Features) || lon[true] < len(one.Features)/2 {
		t.Errorf("%d ways in one town, %v in a box over both", len(one.Features), lon)
	}
	far := all.Features[len(all.Features)-1]
	at := far.Geometry.Coordinates[0]
	var told wire.Explanation
	ask(200, "POST", "/v1/explain", fmt.Sprintf(`{"at":{"lat":%g,"lon":%g},"edge":%d}`, at[1], at[0], far.Properties.Edge), &told)
	if told.Name != far.Properties.Name {
		t.Errorf("%q is taken apart in place of %q", told.Name, far.Properties.Name)
	}
	if text := ask(422, "POST", "/v1/explain", `{}`, nil); !strings.Contains(text, "body.at") {
		t.Errorf("nothing named: %s", text)
	}
}
