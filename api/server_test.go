package api_test

import (
	"bytes"
	"context"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"wideberth/api"
	"wideberth/api/wire"
	"wideberth/routing"
	"wideberth/routing/atlas"
	"wideberth/routing/snapshot/maptest"
	"wideberth/testdata"
)

// town is a planner over the invented town, made once for all tests.
var town = sync.OnceValues(func() (*routing.Planner, error) { return routing.NewPlanner(maptest.Invented(), nil) })

// noon is the clock of all tests here.
func noon() time.Time { return time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC) }

func server(t testing.TB, o api.Options) *api.Server {
	t.Helper()
	p, err := town()
	if err != nil {
		t.Fatal(err)
	}
	o.Atlas, o.Version = atlas.Of(p), "test"
	if o.Now == nil {
		o.Now = noon
	}
	return api.New(o)
}

// do sends one request to a handler and gives the answer with its body.
func do(t testing.TB, h http.Handler, method, path, accept, body string) (*http.Response, []byte) {
	t.Helper()
	req := httptest.NewRequest(method, "http://localhost:8080"+path, strings.NewReader(body))
	req.Header.Set("Content-Type", "application/json")
	if accept != "" {
		req.Header.Set("Accept", accept)
	}
	rec := httptest.NewRecorder()
	h.ServeHTTP(rec, req)
	keepsDescription(t, method, path, rec.Result(), rec.Body.Bytes())
	return rec.Result(), rec.Body.Bytes()
}

// wish is a request for a loop from the invented door with further members.
func wish(more string) string {
	return fmt.Sprintf(`{"from":{"lat":%g,"lon":%g},"depart":"2026-11-25T07:10:00Z"%s}`, testdata.DoorLat, testdata.DoorLon, more)
}

const kessa = `,"dog":{"name":"Kessa","needs":{"dogs":{"working_m":38,"reaction_m":15},"child":{"working_m":25,"reaction_m":10}}}`

func TestPlanAsJSON(t *testing.T) {
	res, body := do(t, server(t, api.Options{}).Handler(), "POST", "/v1/plans", "", wish(`,"minutes":30`+kessa))
	if res.StatusCode != http.StatusOK || res.Header.Get("Content-Type") != "application/json" {
		t.Fatalf("status %d, %s: %s", res.StatusCode, res.Header.Get("Content-Type"), body)
	}
	var plan wire.Plan
	if err := json.Unmarshal(body, &plan); err != nil {
		t.Fatal(err)
	}
	if len(plan.Walks) == 0 || plan.Attribution != "© OpenStreetMap contributors" || plan.Caution == "" || len(plan.Assumed) == 0 {
		t.Fatalf("walks %d, attribution %q, assumed %v", len(plan.Walks), plan.Attribution, plan.Assumed)
	}
	for _, w := range plan.Walks {
		checkWalk(t, &w, 30)
	}
}

// checkWalk holds a walk's figures against each other, without the planner.
func checkWalk(t *testing.T, w *wire.Walk, minutes float64) {
	t.Helper()
	if w.DurationS < minutes*60*0.97-1 || w.DurationS > minutes*60*1.1+1 {
		t.Errorf("%.0f s for %.0f minutes", w.DurationS, minutes)
	}
	var length, x, duration float64
	for i, l := range w.Legs {
		length += l.LengthM
		x += l.Reactions
		duration += l.DurationS
		if i > 0 {
			before := w.Legs[i-1].Geometry.Coordinates
			if before[len(before)-1] != l.Geometry.Coordinates[0] {
				t.Errorf("leg %d begins at %v, not where the one before ended", i, l.Geometry.Coordinates[0])
			}
		}
	}
	first, last := w.Legs[0].Geometry.Coordinates[0], w.Legs[len(w.Legs)-1].Geometry.Coordinates
	if first != last[len(last)-1] {
		t.Errorf("the loop ends at %v, not at its start %v", last[len(last)-1], first)
	}
	for name, pair := range map[string][2]float64{"length": {length, w.LengthM}, "reactions": {x, w.ExpectedReactions}, "duration": {duration, w.DurationS}} {
		if math.Abs(pair[0]-pair[1]) > 0.02*pair[1]+0.5*float64(len(w.Legs))*1e-1 {
			t.Errorf("%s of the legs adds up to %g, the walk says %g", name, pair[0], pair[1])
		}
	}
	if !(w.CalmLow <= w.CalmChance && w.CalmChance <= w.CalmHigh) {
		t.Errorf("calm %g outside its interval %g to %g", w.CalmChance, w.CalmLow, w.CalmHigh)
	}
}

// TestPlanAsGeoJSON checks the musts of RFC 7946: longitude first, no crs
// member, the media type of section 12.
func TestPlanAsGeoJSON(t *testing.T) {
	res, body := do(t, server(t, api.Options{}).Handler(), "POST", "/v1/plans", "application/geo+json", wish(`,"minutes":30`))
	if got := res.Header.Get("Content-Type"); got != "application/geo+json" {
		t.Fatalf("media type %s: %s", got, body)
	}
	var fc struct {
		Type     string
		CRS      any `json:"crs"`
		BBox     []float64
		Features []struct {
			Type     string
			Geometry struct {
				Type        string
				Coordinates json.RawMessage
			}
			Properties map[string]any
		}
	}
	if err := json.Unmarshal(body, &fc); err != nil {
		t.Fatal(err)
	}
	if fc.Type != "FeatureCollection" || fc.CRS != nil || len(fc.BBox) != 4 || len(fc.Features) == 0 {
		t.Fatalf("type %q, crs %v, bbox %v, %d features", fc.Type, fc.CRS, fc.BBox, len(fc.Features))
	}
	if !(fc.BBox[0] < testdata.DoorLon && testdata.DoorLon < fc.BBox[2] && fc.BBox[1] < testdata.DoorLat && testdata.DoorLat < fc.BBox[3]) {
		t.Errorf("bbox %v does not hold the door at %g, %g", fc.BBox, testdata.DoorLon, testdata.DoorLat)
	}
	for i, f := range fc.Features {
		if f.Type != "Feature" || (f.Geometry.Type != "LineString" && f.Geometry.Type != "Point") || f.Properties == nil {
			t.Errorf("feature %d is a %s with a %s", i, f.Type, f.Geometry.Type)
		}
	}
}

// TestPlanAsGPX checks the musts of the GPX 1.1 schema: namespace, version and
// creator, order of elements, ranges of latitude and longitude, times in UTC.
func TestPlanAsGPX(t *testing.T) {
	_, body := do(t, server(t, api.Options{}).Handler(), "POST", "/v1/plans", "application/gpx+xml", wish(`,"minutes":30`))
	var g struct {
		XMLName xml.Name
		Version string `xml:"version,attr"`
		Creator string `xml:"creator,attr"`
		Any     []struct {
			XMLName xml.Name
		} `xml:",any"`
		Trk []struct {
			Pt []struct {
				Lat  float64 `xml:"lat,attr"`
				Lon  float64 `xml:"lon,attr"`
				Time string  `xml:"time"`
			} `xml:"trkseg>trkpt"`
		} `xml:"trk"`
	}
	if err := xml.Unmarshal(body, &g); err != nil {
		t.Fatalf("%v: %s", err, body)
	}
	if g.XMLName.Space != "http://www.topografix.com/GPX/1/1" || g.Version != "1.1" || g.Creator == "" {
		t.Fatalf("root %v version %q creator %q", g.XMLName, g.Version, g.Creator)
	}
	var last time.Time
	for _, pt := range g.Trk[0].Pt {
		at, err := time.Parse("2006-01-02T15:04:05Z", pt.Time)
		if err != nil || at.Before(last) || pt.Lat < -90 || pt.Lat > 90 || pt.Lon < -180 || pt.Lon >= 180 {
			t.Fatalf("point %+v after %v: %v", pt, last, err)
		}
		last = at
	}
	order := bytes.Index(body, []byte("<metadata>")) < bytes.Index(body, []byte("<wpt")) && bytes.Index(body, []byte("<wpt")) < bytes.Index(body, []byte("<trk>"))
	if !order {
		t.Error("metadata, wpt and trk are not in the schema's order")
	}
}

func TestBadRequests(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	for name, c := range map[string]struct {
		body   string
		status int
		want   string
	}{
		"minutes of zero":           {wish(`,"minutes":0`), 422, "body.minutes"},
		"minutes below zero":        {wish(`,"minutes":-5`), 422, "ask for 5 to 180 minutes"},
		"minutes not a number":      {wish(`,"minutes":NaN`), 400, "body"},
		"ten thousand minutes":      {wish(`,"minutes":10000`), 422, "body.minutes"},
		"start in the sea":          {`{"from":{"lat":10,"lon":-7},"minutes":30}`, 422, "off_the_map"},
		"latitude out of range":     {`{"from":{"lat":100,"lon":-7},"minutes":30}`, 422, "body.from.lat"},
		"there is here":             {wish(fmt.Sprintf(`,"to":{"lat":%g,"lon":%g}`, testdata.DoorLat, testdata.DoorLon)), 422, "body.to"},
		"time without zone":         {fmt.Sprintf(`{"from":{"lat":%g,"lon":%g},"minutes":30,"depart":"2026-11-25T07:10:00"}`, testdata.DoorLat, testdata.DoorLon), 422, "body.depart"},
		"unknown kind":              {wish(`,"minutes":30,"dog":{"name":"B","needs":{"cats":{"working_m":3}}}`), 422, "body.dog.needs.cats"},
		"reaction beyond working":   {wish(`,"minutes":30,"dog":{"name":"B","needs":{"dogs":{"working_m":30,"reaction_m":31}}}`), 422, "body.dog.needs.dogs.reaction_m"},
		"unknown member":            {wish(`,"minutes":30,"fast":true`), 422, "fast"},
		"unknown shape":             {wish(`,"minutes":30,"shape":"eight"`), 422, "body.shape"},
		"nested arrays":             {strings.Repeat("[", 5000) + strings.Repeat("]", 5000), 422, "body"},
		"cut off":                   {`{"from":{"lat":4`, 400, "body"},
		"distance from an unknown":  {wish(`,"minutes":30,"limits":{"never_nearer":[{"from":"shool","m":30}]}`), 422, "never_nearer.0.from"},
		"distance of nothing":       {wish(`,"minutes":30,"limits":{"never_nearer":[{"from":"school","m":0}]}`), 422, "never_nearer.0.m"},
		"longest walk for nothing":  {wish(`,"shape":"longest_calm"`), 422, "max_expected_reactions"},
		"three thousand metres":     {wish(`,"minutes":30,"dog":{"name":"B","needs":{"dogs":{"working_m":3000}}}`), 200, "walks"},
		"text in a name is kept as": {wish(`,"minutes":30,"dog":{"name":"<script>alert(1)</script>","needs":{"dogs":{"working_m":30}}}`), 200, "walks"},
		"name of 5,000 characters":  {wish(`,"minutes":30,"dog":{"name":"` + strings.Repeat("a", 5000) + `","needs":{"dogs":{"working_m":30}}}`), 422, "body.dog.name"},
	} {
		t.Run(name, func(t *testing.T) {
			res, body := do(t, h, "POST", "/v1/plans", "", c.body)
			if res.StatusCode != c.status || !strings.Contains(string(body), c.want) {
				t.Errorf("status %d, want %d with %q: %s", res.StatusCode, c.status, c.want, clip(body))
			}
			if c.status != 200 && res.Header.Get("Content-Type") != "application/problem+json" {
				t.Errorf("media type %s", res.Header.Get("Content-Type"))
			}
		})
	}
}

func clip(b []byte) string { return string(b[:min(len(b), 600)]) }

// TestHugeBody sends a hundred megabytes; the server must refuse them early.
func TestHugeBody(t *testing.T) {
	srv := httptest.NewServer(server(t, api.Options{}).Handler())
	defer srv.Close()
	res, err := http.Post(srv.URL+"/v1/plans", "application/json", io.LimitReader(zeros{}, 100<<20))
	if err == nil {
		res.Body.Close()
		if res.StatusCode != http.StatusRequestEntityTooLarge && res.StatusCode != http.StatusBadRequest {
			t.Errorf("status %d", res.StatusCode)
		}
	}
	res, body := do(t, server(t, api.Options{}).Handler(), "GET", "/healthz", "", "")
	if res.StatusCode != http.StatusOK {
		t.Errorf("afterwards health is %d: %s", res.StatusCode, body)
	}
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = ' '
	}
	return len(p), nil
}

// TestBusy fills the one search place and what one asker may have waiting: further
// requests get 429 with Retry-After, none gets another error.
func TestBusy(t *testing.T) {
	h := server(t, api.Options{Searches: 1, Queue: 1, Wait: 5 * time.Millisecond}).Handler()
	var mu sync.Mutex // guards status
	status := map[int]int{}
	var wg sync.WaitGroup
	for range 40 {
		wg.Go(func() {
			res, _ := do(t, h, "POST", "/v1/plans", "", wish(`,"minutes":60`))
			mu.Lock()
			defer mu.Unlock()
			status[res.StatusCode]++
			if res.StatusCode == http.StatusTooManyRequests && res.Header.Get("Retry-After") == "" {
				t.Error("429 without Retry-After")
			}
		})
	}
	wg.Wait()
	if status[200] == 0 || status[429] == 0 || status[200]+status[429] != 40 {
		t.Errorf("statuses %v", status)
	}
}

// TestShutdown ends the server while a request runs: the request is answered.
func TestShutdown(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	read := make(chan struct{})
	first := sync.OnceFunc(func() { close(read) })
	s := server(t, api.Options{Now: func() time.Time { first(); return noon() }}) // asked when a request begins
	go func() { ended <- s.Serve(ctx, l) }()
	answered := make(chan error, 1)
	go func() {
		res, err := http.Post("http://"+l.Addr().String()+"/v1/weeks", "application/json", strings.NewReader(wish(`,"minutes":30,"hours":48`)))
		if err == nil {
			res.Body.Close()
			if res.StatusCode != http.StatusOK {
				err = fmt.Errorf("status %d", res.StatusCode)
			}
		}
		answered <- err
	}()
	<-read
	stop()
	if err := <-answered; err != nil {
		t.Errorf("the running request: %v", err)
	}
	if err := <-ended; err != nil && !errors.Is(err, http.ErrServerClosed) {
		t.Errorf("serve: %v", err)
	}
}

// TestOpenAPI checks the musts of OpenAPI 3.1: version, info with title and
// version, paths; that every operation has an id and a summary; and that the
// document names no other host than the licence's.
func TestOpenAPI(t *testing.T) {
	_, body := do(t, server(t, api.Options{}).Handler(), "GET", "/openapi.json", "", "")
	var doc struct {
		OpenAPI string
		Info    struct{ Title, Version string }
		Paths   map[string]map[string]struct {
			OperationID string `json:"operationId"`
			Summary     string
			Responses   map[string]any
		}
	}
	if err := json.Unmarshal(body, &doc); err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(doc.OpenAPI, "3.1") || doc.Info.Title != "Wideberth" || doc.Info.Version != "test" || len(doc.Paths) < 5 {
		t.Fatalf("openapi %q, info %+v, %d paths", doc.OpenAPI, doc.Info, len(doc.Paths))
	}
	seen := map[string]bool{}
	for path, ops := range doc.Paths {
		for method, op := range ops {
			if op.OperationID == "" || op.Summary == "" || len(op.Responses) == 0 || seen[op.OperationID] {
				t.Errorf("%s %s: id %q, summary %q", method, path, op.OperationID, op.Summary)
			}
			seen[op.OperationID] = true
		}
	}
}

// TestStreetsAreCompared asks for the ways round the door: every one is in a run of its
// own step, and the step is that of its minutes to one reaction.
func TestStreetsAreCompared(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	res, body := do(t, h, "POST", "/v1/streets", "", fmt.Sprintf(`{"from":{"lat":%g,"lon":%g},"depart":"2026-11-30T08:10:00Z"%s}`, testdata.DoorLat, testdata.DoorLon, kessa))
	var got wire.RankedStreets
	if err := json.Unmarshal(body, &got); err != nil || res.StatusCode != http.StatusOK || len(got.Features) < 500 || got.Truncated {
		t.Fatalf("%v, status %d, %d features: %s", err, res.StatusCode, len(got.Features), clip(body))
	}
	seen := 0
	for _, run := range got.Runs {
		for k, e := range run.Edges {
			f := &got.Features[max(e, -e)-1]
			seen++
			// Reactions are rounded, so a bound is not met to the last place.
			calmest, hardest, m := 4, 4, 10/max(f.Properties.X10, 0.0001)
			for i := 2; i >= 0; i-- {
				if m >= got.Rank.Minutes[i]*0.99 {
					calmest = i + 1
				}
				if m >= got.Rank.Minutes[i]*1.01 {
					hardest = i + 1
				}
			}
			if f.Properties.Step != run.Step || f.Properties.Way != run.Way || f.Properties.Step < calmest || f.Properties.Step > hardest {
				t.Fatalf("edge %d of %g reactions in ten minutes, step %d, in a run of step %d; bounds %v", f.Properties.Edge, f.Properties.X10, f.Properties.Step, run.Step, got.Rank.Minutes)
			}
			if k > 0 {
				end := func(e int, last bool) wire.Position {
					l := got.Features[max(e, -e)-1].Geometry.Coordinates
					if last == (e > 0) {
						return l[len(l)-1]
					}
					return l[0]
				}
				if end(run.Edges[k-1], true) != end(e, false) {
					t.Fatalf("a run jumps from %v to %v", end(run.Edges[k-1], true), end(e, false))
				}
			}
		}
	}
	if seen != len(got.Features) {
		t.Errorf("%d of %d ways are in runs", seen, len(got.Features))
	}
	if res, _ := do(t, h, "POST", "/v1/streets", "", `{"depart":"2026-11-30T08:10:00Z"}`); res.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("without a place: status %d", res.StatusCode)
	}
}

func TestAroundAndExplain(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	box := fmt.Sprintf(`{"bbox":[%g,%g,%g,%g],"depart":"2026-11-25T08:15:00Z"`, testdata.DoorLon-0.004, testdata.DoorLat-0.003, testdata.DoorLon+0.004, testdata.DoorLat+0.003) + kessa + `}`
	res, body := do(t, h, "POST", "/v1/hazards", "", box)
	var fc struct {
		Features []struct {
			Properties struct {
				Edge  int32
				Level string
				X10   float64 `json:"reactions_in_ten_minutes"`
			}
		}
		Attribution string
	}
	if err := json.Unmarshal(body, &fc); err != nil || res.StatusCode != http.StatusOK || len(fc.Features) < 20 || fc.Attribution == "" {
		t.Fatalf("%v, status %d, %d features", err, res.StatusCode, len(fc.Features))
	}
	edge := fc.Features[0].Properties
	res, body = do(t, h, "POST", "/v1/explain", "", fmt.Sprintf(`{"edge":%d,"depart":"2026-11-25T08:15:00Z"%s}`, edge.Edge, kessa))
	var why struct {
		X10   float64 `json:"reactions_in_ten_minutes"`
		Terms []struct {
			Kind, What string
			Share      float64
		}
	}
	if err := json.Unmarshal(body, &why); err != nil || res.StatusCode != http.StatusOK {
		t.Fatalf("%v, status %d: %s", err, res.StatusCode, clip(body))
	}
	share := 0.0
	for _, term := range why.Terms {
		share += term.Share
	}
	if math.Abs(share-1) > 1e-6 || math.Abs(why.X10-edge.X10) > 0.02*edge.X10+1e-4 {
		t.Errorf("shares add up to %g; hazard %g in the breakdown, %g on the map", share, why.X10, edge.X10)
	}
	if res, _ := do(t, h, "POST", "/v1/explain", "", `{"edge":99999999}`); res.StatusCode != http.StatusNotFound {
		t.Errorf("an edge that is not there gives %d", res.StatusCode)
	}
	res, body = do(t, h, "POST", "/v1/sources", "", box)
	if res.StatusCode != http.StatusOK || !bytes.Contains(body, []byte(`"sources":[`)) {
		t.Errorf("sources: %d %s", res.StatusCode, clip(body))
	}
}

func TestWeek(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	h := server(t, api.Options{}).Handler()
	res, body := do(t, h, "POST", "/v1/weeks", "", wish(`,"minutes":20`+kessa))
	var week struct {
		Hours []struct {
			Depart time.Time
			Found  bool
			Free   bool
			X      float64 `json:"expected_reactions"`
			Strain float64
		}
		Best []int
	}
	if err := json.Unmarshal(body, &week); err != nil || res.StatusCode != http.StatusOK || len(week.Hours) != 168 || len(week.Best) != 3 {
		t.Fatalf("%v, status %d, %d hours, best %v", err, res.StatusCode, len(week.Hours), week.Best)
	}
	best := week.Hours[week.Best[0]]
	for i, h := range week.Hours {
		if h.Free && h.X+h.Strain < best.X+best.Strain-1e-5 {
			t.Errorf("hour %d has %g, less than the best window's", i, h.X+h.Strain)
		}
		if h.Free && (h.Depart.Hour() < 6 || h.Depart.Hour() > 21) {
			t.Errorf("%v counts as free", h.Depart)
		}
	}
}

func TestOutsideTheContract(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	for _, c := range []struct {
		method, path string
		status       int
	}{{"GET", "/v1/nothing", 404}, {"DELETE", "/v1/plans", 405}, {"GET", "/healthz", 200}, {"GET", "/readyz", 200}} {
		if res, body := do(t, h, c.method, c.path, "", ""); res.StatusCode != c.status {
			t.Errorf("%s %s gives %d: %s", c.method, c.path, res.StatusCode, clip(body))
		}
	}
}

func TestWayOut(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	body := fmt.Sprintf(`{"at":{"lat":%g,"lon":%g},"threat":{"lat":%g,"lon":%g},"speed_mps":1.4%s}`, testdata.DoorLat, testdata.DoorLon, testdata.DoorLat+0.0002, testdata.DoorLon, kessa)
	res, got := do(t, h, "POST", "/v1/ways-out", "", body)
	var out struct {
		Calm, Brisk struct {
			Means    string
			PresentM float64 `json:"present_m"`
			NearestM float64 `json:"nearest_m"`
			PaceMPS  float64 `json:"pace_mps"`
		}
	}
	if err := json.Unmarshal(got, &out); err != nil || res.StatusCode != http.StatusOK || out.Calm.Means == "" || out.Brisk.PaceMPS != 1.6 || out.Calm.PresentM < 15 || out.Calm.PresentM > 35 {
		t.Errorf("%v, status %d: %s", err, res.StatusCode, clip(got))
	}
	for name, body := range map[string]string{
		"unknown kind": strings.Replace(body, `"speed_mps"`, `"kind":"cat","speed_mps"`, 1),
		"far off":      strings.Replace(body, fmt.Sprintf("%g", testdata.DoorLat+0.0002), "47.3", 1),
	} {
		if res, got := do(t, h, "POST", "/v1/ways-out", "", body); res.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%s gives %d: %s", name, res.StatusCode, clip(got))
		}
	}
}

func TestPictures(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	for _, more := range []string{``, `,"what":"strip","units":"us"`, `,"theme":"dark","wider":2,"walk":1`} {
		res, got := do(t, h, "POST", "/v1/pictures", "image/svg+xml", `{"wish":`+wish(`,"minutes":30`+kessa)+more+`}`)
		if res.StatusCode != http.StatusOK || res.Header.Get("Content-Type") != "image/svg+xml" {
			t.Fatalf("%s: status %d, %s: %s", more, res.StatusCode, res.Header.Get("Content-Type"), clip(got))
		}
		if err := xml.Unmarshal(got, new(struct{})); err != nil {
			t.Errorf("%s: %v", more, err)
		}
		if bytes.Contains(got, []byte("style=")) || bytes.Contains(got, []byte("<style")) || bytes.Contains(got, []byte("<script")) {
			t.Errorf("%s: a style or script, which the page's policy refuses", more)
		}
	}
}

// TestSourcesInTheWholeWorld: a box wider than the map gives all that the map has.
func TestSourcesInTheWholeWorld(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	type answer struct {
		Sources   []wire.SourceInfo `json:"sources"`
		Truncated bool              `json:"truncated"`
	}
	town := post[answer](t, h, "/v1/sources", `{"bbox":[-7.1,47.1,-6.9,47.3],"depart":"2026-11-25T08:15:00Z"}`)
	world := post[answer](t, h, "/v1/sources", `{"bbox":[-180,-90,180,90],"depart":"2026-11-25T08:15:00Z"}`)
	if len(town.Sources) == 0 || len(world.Sources) != len(town.Sources) || world.Truncated {
		t.Errorf("%d sources in the world, %d in the town", len(world.Sources), len(town.Sources))
	}
	if away := post[answer](t, h, "/v1/sources", `{"bbox":[10,50,11,51],"depart":"2026-11-25T08:15:00Z"}`); len(away.Sources) != 0 {
		t.Errorf("%d sources far off the map", len(away.Sources))
	}
}
