package api_test

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"image/png"
	"io"
	"io/fs"
	"math"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"wideberth/api"
	"wideberth/api/web"
	"wideberth/api/wire"
	"wideberth/routing/briefing/draw"
	"wideberth/testdata"
)

func pageGet(t *testing.T, h http.Handler, path string, header map[string]string) (*http.Response, []byte) {
	t.Helper()
	req := httptest.NewRequest(http.MethodGet, path, nil)
	for k, v := range header {
		req.Header.Set(k, v)
	}
	rec := httptest.NewRecorder()
	h.ServeHTTP(rec, req)
	return rec.Result(), rec.Body.Bytes()
}

func TestPageOrWhatToRun(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	r, body := pageGet(t, h, "/", nil)
	if r.StatusCode != http.StatusOK {
		t.Fatalf("status %d", r.StatusCode)
	}
	if _, err := fs.Stat(web.Files(), "index.html"); err != nil {
		if !strings.Contains(string(body), "make page build") {
			t.Errorf("without a page it says %q", body)
		}
		return
	}
	policy := r.Header.Get("Content-Security-Policy")
	for _, want := range []string{"default-src 'none'", "script-src 'self'", "style-src 'self'", "connect-src 'self'", "frame-ancestors 'none'", "base-uri 'none'"} {
		if !strings.Contains(policy, want) {
			t.Errorf("the policy %q lacks %s", policy, want)
		}
	}
	if strings.Contains(policy, "unsafe") || strings.Contains(policy, "http") || strings.Contains(policy, "*") {
		t.Errorf("the policy %q lets too much in", policy)
	}
	if !strings.Contains(string(body), "needs JavaScript") {
		t.Error("nothing is said to browsers without JavaScript")
	}
	for _, inline := range []string{"<style", " style=", "<script>", "javascript:", "onload="} {
		if strings.Contains(string(body), inline) {
			t.Errorf("the document holds %q, which the policy forbids", inline)
		}
	}
}

// TestPageFiles walks every file that was built in: type, cache, tag, and that
// both forms hold the same bytes.
func TestPageFiles(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	err := fs.WalkDir(web.Files(), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || strings.HasPrefix(d.Name(), ".") || name == "index.html" {
			return err
		}
		want, err := fs.ReadFile(web.Files(), name)
		if err != nil {
			return err
		}
		r, plain := pageGet(t, h, "/"+name, nil)
		if r.StatusCode != http.StatusOK || !bytes.Equal(plain, want) || r.Header.Get("Content-Encoding") != "" {
			t.Errorf("%s: status %d, %d bytes of %d", name, r.StatusCode, len(plain), len(want))
		}
		if r.Header.Get("Content-Type") == "" || r.Header.Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("%s: headers %v", name, r.Header)
		}
		forever := strings.Contains(r.Header.Get("Cache-Control"), "immutable")
		if forever != strings.HasPrefix(name, "assets/") {
			t.Errorf("%s: Cache-Control %q", name, r.Header.Get("Cache-Control"))
		}
		r, small := pageGet(t, h, "/"+name, map[string]string{"Accept-Encoding": "gzip"})
		if r.Header.Get("Content-Encoding") == "gzip" {
			z, err := gzip.NewReader(bytes.NewReader(small))
			if err != nil {
				return fmt.Errorf("%s: %w", name, err)
			}
			if small, err = io.ReadAll(z); err != nil {
				return fmt.Errorf("%s: %w", name, err)
			}
		}
		if !bytes.Equal(small, want) {
			t.Errorf("%s: the compressed form holds other bytes", name)
		}
		if r, _ = pageGet(t, h, "/"+name, map[string]string{"If-None-Match": r.Header.Get("ETag")}); r.StatusCode != http.StatusNotModified {
			t.Errorf("%s: status %d for the same tag", name, r.StatusCode)
		}
		return nil
	})
	if err != nil {
		t.Error(err)
	}
}

func TestTileRoute(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	n := math.Exp2(15)
	x := int(n * (testdata.DoorLon + 180) / 360)
	y := int(n * (1 - math.Asinh(math.Tan(testdata.DoorLat*math.Pi/180))/math.Pi) / 2)
	door := fmt.Sprintf("/tiles/15/%d/%d.mvt", x, y)
	r, plain := pageGet(t, h, door, nil)
	if r.StatusCode != http.StatusOK || len(plain) == 0 || r.Header.Get("Content-Type") != "application/vnd.mapbox-vector-tile" {
		t.Fatalf("status %d, %d bytes, %v", r.StatusCode, len(plain), r.Header)
	}
	tag := r.Header.Get("ETag")
	r, small := pageGet(t, h, door, map[string]string{"Accept-Encoding": "br, gzip"})
	z, err := gzip.NewReader(bytes.NewReader(small))
	if err != nil || r.Header.Get("Content-Encoding") != "gzip" {
		t.Fatalf("%v, %v", err, r.Header)
	}
	if got, _ := io.ReadAll(z); !bytes.Equal(got, plain) {
		t.Error("the compressed tile holds other bytes")
	}
	if r, _ = pageGet(t, h, door, map[string]string{"If-None-Match": tag}); r.StatusCode != http.StatusNotModified {
		t.Errorf("status %d for the same tag", r.StatusCode)
	}
	for path, want := range map[string]int{
		"/tiles/14/0/0.mvt": http.StatusNoContent, "/tiles/3/1/1.mvt": http.StatusNotFound, "/tiles/16/1/1.mvt": http.StatusNotFound,
		"/tiles/15/-1/0.mvt": http.StatusNotFound, "/tiles/15/99999999/0.mvt": http.StatusNotFound, "/tiles/15/1/1.png": http.StatusNotFound,
		"/tiles/15/1/x.mvt": http.StatusNotFound, "/tiles/15/18446744073709551616/1.mvt": http.StatusNotFound,
	} {
		if r, _ := pageGet(t, h, path, nil); r.StatusCode != want {
			t.Errorf("%s: status %d, not %d", path, r.StatusCode, want)
		}
	}
}

// TestInstalls holds the page to what a home screen asks for: a manifest with icons that
// are there, of the types it says. Source: W3C Web Application Manifest.
func TestInstalls(t *testing.T) {
	if _, err := fs.Stat(web.Files(), "index.html"); err != nil {
		return // without a page there is nothing to install, which TestPageOrWhatToRun holds
	}
	h := server(t, api.Options{}).Handler()
	r, body := pageGet(t, h, "/app.webmanifest", nil)
	var m struct {
		Name     string
		StartURL string `json:"start_url"`
		Display  string
		Icons    []struct{ Src, Type, Sizes, Purpose string }
	}
	if err := json.Unmarshal(body, &m); err != nil || r.Header.Get("Content-Type") != "application/manifest+json" {
		t.Fatalf("%v, %s", err, r.Header.Get("Content-Type"))
	}
	if m.Name == "" || m.StartURL != "./" || m.Display != "standalone" || len(m.Icons) < 3 {
		t.Errorf("%s", body)
	}
	for _, icon := range m.Icons {
		r, got := pageGet(t, h, "/"+icon.Src, nil)
		if r.StatusCode != http.StatusOK || r.Header.Get("Content-Type") != icon.Type {
			t.Errorf("%s: %d, %s", icon.Src, r.StatusCode, r.Header.Get("Content-Type"))
		}
		if c, err := png.DecodeConfig(bytes.NewReader(got)); icon.Type == "image/png" && (err != nil || fmt.Sprintf("%dx%d", c.Width, c.Height) != icon.Sizes) {
			t.Errorf("%s is %dx%d: %v", icon.Src, c.Width, c.Height, err)
		}
	}
}

func TestMapAndPlaces(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	_, body := pageGet(t, h, "/v1/map", nil)
	var m wire.MapInfo
	if err := json.Unmarshal(body, &m); err != nil {
		t.Fatal(err)
	}
	if m.Name != testdata.TownName || m.Demo == nil || m.Demo.Dog.Name != "Kessa" || m.Demo.From.Name != testdata.DoorName || m.TimeZone != "Etc/GMT" {
		t.Errorf("the map says %s", body)
	}
	if !(m.BBox[0] < testdata.DoorLon && testdata.DoorLon < m.BBox[2] && m.BBox[1] < testdata.DoorLat && testdata.DoorLat < m.BBox[3]) {
		t.Errorf("the door lies outside %v", m.BBox)
	}
	find := func(in string) []wire.Place {
		t.Helper()
		r, body := do(t, h, http.MethodPost, "/v1/places", "", in)
		var out struct{ Places []wire.Place }
		if err := json.Unmarshal(body, &out); err != nil || r.StatusCode != http.StatusOK {
			t.Fatalf("%s: %v, %s", in, err, body)
		}
		return out.Places
	}
	got := find(`{"text":"  weaver   ROW 12 "}`)
	if len(got) == 0 || got[0].Name != testdata.DoorName {
		t.Fatalf("found %v", got)
	}
	if d := math.Hypot((got[0].At.Lat-testdata.DoorLat)*111320, (got[0].At.Lon-testdata.DoorLon)*75600); d > 30 {
		t.Errorf("the door is found %.0f m off", d)
	}
	if got = find(`{"text":"row"}`); len(got) != 12 {
		t.Errorf("%d places for a word that many hold", len(got))
	}
	if got = find(`{"text":"<b>nowhere</b>"}`); len(got) != 0 {
		t.Errorf("found %v", got)
	}
	if got = find(fmt.Sprintf(`{"at":{"lat":%g,"lon":%g}}`, testdata.DoorLat, testdata.DoorLon)); len(got) != 1 || !strings.HasPrefix(got[0].Name, "Weaver Row") {
		t.Errorf("the door is called %v", got)
	}
	if got = find(`{"at":{"lat":10,"lon":10}}`); len(got) != 0 {
		t.Errorf("the far end of the world is called %v", got)
	}
}

// TestAroundStaysInItsBox asks for a corner of the map that the frame's origin
// does not lie in.
func TestAroundStaysInItsBox(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	const west, south, east, north = -7.012, 47.1955, -7.008, 47.1985
	_, body := do(t, h, http.MethodPost, "/v1/hazards", "", fmt.Sprintf(`{"bbox":[%g,%g,%g,%g],"depart":"2026-11-25T07:10:00Z"}`, west, south, east, north))
	var got struct {
		Features []struct {
			Geometry struct{ Coordinates [][2]float64 }
		}
	}
	if err := json.Unmarshal(body, &got); err != nil || len(got.Features) == 0 {
		t.Fatalf("%v: %.300s", err, body)
	}
	for _, f := range got.Features {
		w, s, e, n := 180.0, 90.0, -180.0, -90.0
		for _, c := range f.Geometry.Coordinates {
			w, s, e, n = min(w, c[0]), min(s, c[1]), max(e, c[0]), max(n, c[1])
		}
		if w > east || e < west || s > north || n < south {
			t.Errorf("a way from %g, %g to %g, %g", w, s, e, n)
		}
	}
}

// TestDrawingsSayWhatPlansSay holds the drawn plan against the plain one, and the
// drawing against its own walk.
func TestDrawingsSayWhatPlansSay(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	in := wish(`,"minutes":30,"dog":` + string(testdata.Dog()))
	_, plain := do(t, h, http.MethodPost, "/v1/plans", "", in)
	r, drawn := do(t, h, http.MethodPost, "/v1/drawings", "", `{"wish":`+in+`}`)
	if r.StatusCode != http.StatusOK {
		t.Fatalf("%s", drawn)
	}
	var both struct {
		Plan     json.RawMessage
		Drawings []wire.Drawing
	}
	if err := json.Unmarshal(drawn, &both); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(bytes.TrimSpace(plain), bytes.TrimSpace(both.Plan)) {
		t.Error("the drawn plan differs from the plain one")
	}
	var plan struct {
		Walks []struct {
			Length float64 `json:"length_m"`
		}
	}
	if err := json.Unmarshal(both.Plan, &plan); err != nil {
		t.Fatal(err)
	}
	if len(plan.Walks) == 0 || len(plan.Walks) != len(both.Drawings) {
		t.Fatalf("%d walks, %d drawings", len(plan.Walks), len(both.Drawings))
	}
	for i := range both.Drawings {
		checkDrawing(t, &both.Drawings[i], plan.Walks[i].Length)
	}
}

func checkDrawing(t *testing.T, d *wire.Drawing, lengthM float64) {
	t.Helper()
	p := &d.Profile
	if n := len(p.LeftM); math.Abs(float64(n-1)*p.StepM-lengthM) > p.StepM || n != len(p.RightM) || n != len(p.Step) || n != len(p.SightM) || n != len(p.AssumedLeft) || n != len(p.AssumedRight) {
		t.Errorf("a profile of %d samples every %g m for %g m", n, p.StepM, lengthM)
	}
	for i := range p.LeftM {
		if p.LeftM[i] < 0 || p.LeftM[i] > d.Need.WorkingM+0.05 || p.RightM[i] < 0 || p.RightM[i] > d.Need.WorkingM+0.05 || p.Step[i] < 1 || p.Step[i] > 4 {
			t.Fatalf("sample %d: %g m and %g m of room, step %d, with %g m needed", i, p.LeftM[i], p.RightM[i], p.Step[i], d.Need.WorkingM)
		}
	}
	along := 0.0
	for _, l := range d.Line {
		for j := 1; j < len(l.Line); j++ {
			k := math.Cos(l.Line[j][1] * math.Pi / 180)
			along += math.Hypot((l.Line[j][0]-l.Line[j-1][0])*k, l.Line[j][1]-l.Line[j-1][1]) * 111320
		}
	}
	if math.Abs(along-lengthM) > 0.02*lengthM {
		t.Errorf("the line is %.0f m long, the walk %.0f m", along, lengthM)
	}
	for i, l := range d.Line {
		if l.Step < 1 || l.Step > 4 || (i > 0 && l.Step == d.Line[i-1].Step) {
			t.Errorf("run %d of step %d", i, l.Step)
		}
	}
}

func TestHandOutRoute(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	r, body := do(t, h, http.MethodPost, "/v1/handouts", "text/html", `{"wish":`+wish(`,"minutes":30,"dog":{"name":"<script>alert(1)</script>","needs":{"dogs":{"working_m":38}}}`)+`,"paper":"letter","units":"us"}`)
	if r.StatusCode != http.StatusOK || !strings.HasPrefix(r.Header.Get("Content-Type"), "text/html") {
		t.Fatalf("status %d, %s: %.300s", r.StatusCode, r.Header.Get("Content-Type"), body)
	}
	page := string(body)
	if strings.Contains(page, "<script") || strings.Contains(page, "style=") {
		t.Error("a name was taken as markup, or there is inline style")
	}
	for _, want := range []string{"&lt;script&gt;", "Weaver Row", "OpenStreetMap contributors", "125 ft", `class="letter"`} {
		if !strings.Contains(strings.NewReplacer("\u2009", " ", "\u202f", " ", "&thinsp;", " ").Replace(page), want) {
			t.Errorf("the hand-out lacks %q", want)
		}
	}
	if r, css := pageGet(t, h, "/handout.css", nil); r.StatusCode != http.StatusOK || !bytes.Equal(css, draw.HandOutCSS()) {
		t.Errorf("status %d for its style", r.StatusCode)
	}
	if r, _ := do(t, h, http.MethodPost, "/v1/handouts", "", `{"wish":`+wish(`,"minutes":30`)+`,"paper":"a3"}`); r.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("status %d for a paper that there is none of", r.StatusCode)
	}
}
