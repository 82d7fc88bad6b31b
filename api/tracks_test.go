package api_test

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"wideberth/api/problem"
	"wideberth/api/wire"
	track "wideberth/api/wire/gpx"
	"wideberth/api/wire/kept"
	"wideberth/testdata"
)

// gpx wraps the inside of a track segment; its first line is line 2.
func gpx(inside string) string {
	return `<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="test"><trk><trkseg>` + "\n" + inside + "\n</trkseg></trk></gpx>"
}

const point = `<trkpt lat="47.2" lon="-7"><time>2026-11-25T07:10:00Z</time></trkpt>`

func TestTrackIsKeptWholeOrNotAtAll(t *testing.T) {
	_, h := memory(t, true)
	var dog kept.Dog
	send(t, h, "POST", "/v1/dogs", "", intake, 200, &dog)
	var walk kept.Walk
	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/walks", "", `{"started":"2026-11-25T07:10:00Z","key":"w"}`, 200, &walk)
	at := "/v1/walks/" + walk.ID + "/track"
	gpxType := []string{"Content-Type", "application/gpx+xml; charset=utf-8"}

	send(t, h, "GET", at, "", "", 404, nil)
	send(t, h, "POST", at, "", gpx(point), 415, nil)
	send(t, h, "POST", "/v1/walks/none/track", "", gpx(point), 404, nil, gpxType...)
	send(t, h, "POST", at, "", strings.Repeat(" ", 8<<20+1), 413, nil, gpxType...)
	var problem problem.Problem
	send(t, h, "POST", at, "", gpx(point+"\n"+`<trkpt lat="91" lon="0"/>`), 422, &problem, gpxType...)
	if !strings.Contains(problem.Detail, "line 3") || len(problem.Errors) != 1 {
		t.Errorf("problem %+v", problem)
	}
	send(t, h, "POST", at, "", strings.ReplaceAll(gpx(point), "2026-11-25", "2026-11-20"), 422, nil, gpxType...)
	var later kept.Walk
	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/walks", "", `{"started":"2026-11-26T07:10:00Z","key":"later"}`, 200, &later)
	send(t, h, "POST", "/v1/walks/"+later.ID+"/track", "", strings.ReplaceAll(gpx(point), "2026-11-25T07", "2026-11-26T13"), 409, &problem, gpxType...)
	if problem.Type != "urn:wideberth:ahead" || !strings.Contains(problem.Detail, "2026-11-26T13:10:00Z") {
		t.Errorf("a track that is still to come by the server's clock: %+v", problem)
	}
	send(t, h, "DELETE", "/v1/walks/"+later.ID, "", "", 204, nil)
	send(t, h, "GET", at, "", "", 404, nil) // nothing half-stored

	var inside strings.Builder
	for i := range 60 {
		fmt.Fprintf(&inside, `<trkpt lat="%.6f" lon="%.6f"><time>2026-11-25T07:%02d:30Z</time></trkpt>`+"\n", testdata.DoorLat+float64(i)*1e-5, testdata.DoorLon, i)
	}
	var info wire.TrackInfo
	send(t, h, "POST", at, "", gpx(inside.String()), 200, &info, gpxType...)
	if info.Points != 60 || !info.Kept || info.Ends.Sub(info.Begins) != 59*time.Minute {
		t.Errorf("answer %+v", info)
	}
	send(t, h, "POST", at, "", gpx(`<trkpt lat="999" lon="0"/>`), 422, nil, gpxType...)
	var back []kept.Stamp
	send(t, h, "GET", at, "", "", 200, &back)
	if len(back) != 60 || math.Abs(back[0].Lat-testdata.DoorLat) > 1e-6 || back[59].At.Minute() != 59 {
		t.Errorf("%d points back", len(back))
	}
	var walks []kept.Walk
	send(t, h, "GET", "/v1/dogs/"+dog.ID+"/walks", "", "", 200, &walks)
	if sum := total(walks[0].Expected); !walks[0].Track || sum <= 0 {
		t.Errorf("an hour on the street was predicted to bring %g meetings", sum)
	}

	send(t, h, "POST", "/v1/dogs/"+dog.ID+"/encounters", "", `{"walk":"w","kind":"child","at":"2026-11-25T07:20:00Z","note":"=1+1","nearest":"exact","distance_m":12}`, 200, nil)
	rows, err := csv.NewReader(strings.NewReader(string(send(t, h, "GET", "/v1/dogs/"+dog.ID+"/export.csv", "", "", 200, nil)))).ReadAll()
	if err != nil || len(rows) != 2 || rows[1][3] != "child" || rows[1][15] != "'=1+1" {
		t.Errorf("table %v: %v", rows, err)
	}
	// What goes out comes in again.
	again, err := track.Read(strings.NewReader(string(send(t, h, "GET", "/v1/dogs/"+dog.ID+"/export.gpx", "", "", 200, nil))))
	if err != nil || len(again) != 60 || again[7] != kept.TrackPoint(back[7]) {
		t.Errorf("%d points from the export: %v", len(again), err)
	}
	send(t, h, "DELETE", at, "", "", 204, nil)
	send(t, h, "GET", at, "", "", 404, nil)
	send(t, h, "DELETE", at, "", "", 404, nil)
}

func total(list []kept.Expected) (sum float64) {
	for _, e := range list {
		sum += e.Inside
	}
	return sum
}

func TestTrackIsDescribedInTheContract(t *testing.T) {
	_, h := memory(t, true)
	var doc struct {
		Paths map[string]map[string]struct {
			RequestBody struct{ Content map[string]json.RawMessage }
		}
	}
	send(t, h, "GET", "/openapi.json", "", "", 200, &doc)
	content := doc.Paths["/v1/walks/{id}/track"]["post"].RequestBody.Content
	for _, want := range []string{"application/gpx+xml", "application/xml", "text/xml"} {
		if content[want] == nil {
			t.Errorf("no %s in %v", want, content)
		}
	}
}
