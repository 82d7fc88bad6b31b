package page

import (
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"math"
	"net/http"
	"net/http/httptest"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/labstack/echo/v4"
	"pgregory.net/rapid"

	"wideberth/api/web"
	"wideberth/api/wire/tile"
	"wideberth/routing/snapshot/maptest"
	"wideberth/testdata"
)

// ask sends a request with some headers to what serves the page of the town.
func ask(h http.Handler, method, path string, headers http.Header) *http.Response {
	r := httptest.NewRequest(method, path, http.NoBody)
	maps.Copy(r.Header, headers)
	rec := httptest.NewRecorder()
	h.ServeHTTP(rec, r)
	return rec.Result()
}

func served() *echo.Echo {
	e := echo.New()
	layers := sync.OnceValue(func() *tile.Layers { return tile.NewLayers(maptest.Invented(), nil) })
	Routes(e, func(_ context.Context, z, x, y uint64) ([]byte, error) { return layers().Tile(z, x, y) })
	return e
}

func body(t *testing.T, r *http.Response) []byte {
	t.Helper()
	data, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func opened(t *testing.T, small []byte) []byte {
	t.Helper()
	z, err := gzip.NewReader(bytes.NewReader(small))
	if err != nil {
		t.Fatal(err)
	}
	plain, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	return plain
}

// doorTile is the address of the deepest tile round the town's door, by the formula that
// is common practice for tiles of the spherical Mercator projection: so many tiles along
// the equator, and as many from pole to pole.
func doorTile() (x, y int) {
	n := float64(int(1) << 15)
	return int(n * (testdata.DoorLon + 180) / 360), mercatorRow(testdata.DoorLat, n)
}

// latitudeOf is the latitude in degrees of the northern edge of a row of n.
func latitudeOf(row, n float64) float64 {
	return math.Atan(math.Sinh(math.Pi*(1-2*row/n))) * 180 / math.Pi
}

// mercatorRow finds the row of a latitude by halving between rows.
func mercatorRow(lat, n float64) int {
	low, high := 0.0, n
	for high-low > 1e-6 {
		if mid := (low + high) / 2; latitudeOf(mid, n) > lat {
			low = mid
		} else {
			high = mid
		}
	}
	return int(low)
}

// TestTagsAreComparedWeakly takes If-None-Match as RFC 9110, section 13.1.2, has it: a list,
// weak or strong, or any.
func TestTagsAreComparedWeakly(t *testing.T) {
	const tag = `"00ff"`
	for text, want := range map[string]bool{"": false, tag: true, `W/"00ff"`: true, `"a", W/"00ff" ,"b"`: true, "*": true, `"00fe"`: false, "00ff": false, `"00ff`: false, `"x00ff"`: false, `"a","b"`: false} {
		r := httptest.NewRequest(http.MethodGet, "/", http.NoBody)
		r.Header.Set("If-None-Match", text)
		if has(r, tag) != want {
			t.Errorf("%q is said to have %s: %v", text, tag, !want)
		}
	}
	r := httptest.NewRequest(http.MethodGet, "/", http.NoBody)
	r.Header["If-None-Match"] = []string{`"a"`, tag}
	if !has(r, tag) {
		t.Error("a second line of the header is not read")
	}
}

// TestGzipIsTakenOrRefused has the examples of RFC 9110, section 12.5.3, and weights of
// nought, by which section 12.4.2 refuses.
func TestGzipIsTakenOrRefused(t *testing.T) {
	for text, want := range map[string]bool{"compress, gzip": true, "": false, "*": false, "compress;q=0.5, gzip;q=1.0": true, "gzip;q=1.0, identity; q=0.5, *;q=0": true,
		"gzip;q=0": false, "gzip; q=0.000": false, "br, gzip;q=0.001": true, "GZIP": true, "identity": false, "xgzip": false, "br;q=1, deflate": false, "gzip ; Q=0": false} {
		r := httptest.NewRequest(http.MethodGet, "/", http.NoBody)
		r.Header.Set("Accept-Encoding", text)
		if takesGzip(r) != want {
			t.Errorf("%q is said to take it: %v", text, !want)
		}
	}
}

// TestTileAddressesAreNumbers: three whole numbers and the ending, and nothing else.
func TestTileAddressesAreNumbers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		z, x, y := rapid.Uint8().Draw(t, "z"), rapid.Uint32().Draw(t, "x"), rapid.Uint32().Draw(t, "y")
		zoom, col, row, ok := tileAddress(strconv.Itoa(int(z)), fmt.Sprint(x), fmt.Sprint(y)+".mvt")
		if !ok || zoom != uint64(z) || col != uint64(x) || row != uint64(y) {
			t.Fatalf("%d/%d/%d is read as %d/%d/%d, %v", z, x, y, zoom, col, row, ok)
		}
		for _, bad := range [][3]string{{"256", "1", "1.mvt"}, {"1", "4294967296", "1.mvt"}, {"1", "1", "4294967296.mvt"}, {"", "1", "1.mvt"}, {"1", "+1", "1.mvt"}, {"1", "1", ".mvt"}, {"1", "1", "1"}, {"1", "1", "1.MVT"}, {"1", "0x1", "1.mvt"}, {"1", "1_0", "1.mvt"}, {"-1", "1", "1.mvt"}, {"1", " 1", "1.mvt"}} {
			if _, _, _, ok := tileAddress(bad[0], bad[1], bad[2]); ok {
				t.Fatalf("%v is an address", bad)
			}
		}
	})
}

// TestTilesAreSent: the tile of the door, plain and compressed, by GET and HEAD, once and
// again; each answer says how long it may be kept and what it depends on.
func TestTilesAreSent(t *testing.T) {
	h := served()
	x, y := doorTile()
	door := fmt.Sprintf("/tiles/15/%d/%d.mvt", x, y)
	plain := ask(h, http.MethodGet, door, nil)
	data := body(t, plain)
	if plain.StatusCode != http.StatusOK || len(data) < 200 || plain.Header.Get("Content-Type") != "application/vnd.mapbox-vector-tile" || plain.Header.Get("Content-Encoding") != "" ||
		plain.Header.Get("Cache-Control") != tileLife || plain.Header.Get("Vary") != "Accept-Encoding" {
		t.Fatalf("%d, %d bytes, %v", plain.StatusCode, len(data), plain.Header)
	}
	small := ask(h, http.MethodGet, door, http.Header{"Accept-Encoding": {"gzip"}})
	squeezed := body(t, small)
	if small.Header.Get("Content-Encoding") != "gzip" || !bytes.Equal(opened(t, squeezed), data) || len(squeezed) >= len(data) {
		t.Errorf("%d bytes of %d, %v", len(squeezed), len(data), small.Header)
	}
	tag := plain.Header.Get("ETag")
	again := ask(h, http.MethodGet, door, http.Header{"If-None-Match": {"W/" + tag}})
	if again.StatusCode != http.StatusNotModified || len(body(t, again)) != 0 || again.Header.Get("ETag") != tag || again.Header.Get("Cache-Control") != tileLife {
		t.Errorf("again: %d %v", again.StatusCode, again.Header)
	}
	other := ask(h, http.MethodGet, fmt.Sprintf("/tiles/15/%d/%d.mvt", x+1, y), nil)
	if other.Header.Get("ETag") == tag {
		t.Error("two tiles have one tag")
	}
	if head := ask(h, http.MethodHead, door, nil); head.StatusCode != http.StatusOK || head.Header.Get("ETag") != tag {
		t.Errorf("HEAD: %d %v", head.StatusCode, head.Header)
	}
	if post := ask(h, http.MethodPost, door, nil); post.StatusCode != http.StatusMethodNotAllowed {
		t.Errorf("POST: %d", post.StatusCode)
	}
	if far := ask(h, http.MethodGet, "/tiles/15/1/1.mvt", nil); far.StatusCode != http.StatusNoContent || len(body(t, far)) != 0 || far.Header.Get("Cache-Control") != tileLife || far.Header.Get("ETag") != "" {
		t.Errorf("far off: %d %v", far.StatusCode, far.Header)
	}
}

// TestPageAsksForNoMap: files are sent without a map being drawn.
func TestPageAsksForNoMap(t *testing.T) {
	e, asked := echo.New(), 0
	Routes(e, func(context.Context, uint64, uint64, uint64) ([]byte, error) { asked++; return nil, nil })
	ask(e, http.MethodGet, "/", nil)
	if asked != 0 {
		t.Error("the page alone asks for the map")
	}
	ask(e, http.MethodGet, "/tiles/15/1/1.mvt", nil)
	if asked != 1 {
		t.Errorf("the map was asked for %d times", asked)
	}
}

// TestFilesAreSent: plain, compressed, and not at all where a browser has them; with every
// header that bounds what a page may do.
func TestFilesAreSent(t *testing.T) {
	data := []byte(strings.Repeat("let berth = 1;\n", 200))
	f := &file{kind: typeOf("assets/a.js"), cache: cacheForever, tag: `"0123"`, plain: data, small: func() []byte { return squeezedBest(data) }}
	font := &file{kind: typeOf("f.woff2"), cache: cacheAsk, tag: `"0456"`, plain: data}
	e := echo.New()
	getOrHead(e, "/a.js", f.send)
	getOrHead(e, "/f.woff2", font.send)
	Style(e, "/s.css", func() []byte { return []byte("a{}") })
	for _, c := range []struct {
		path, encoding, tag string
		status              int
		small               bool
		kind, cache         string
	}{
		{"/a.js", "", "", 200, false, "text/javascript; charset=utf-8", "public, max-age=31536000, immutable"},
		{"/a.js", "br, gzip", "", 200, true, "text/javascript; charset=utf-8", "public, max-age=31536000, immutable"},
		{"/a.js", "gzip;q=0", `"0456"`, 200, false, "text/javascript; charset=utf-8", "public, max-age=31536000, immutable"},
		{"/a.js", "gzip", `"0123"`, 304, false, "", "public, max-age=31536000, immutable"},
		{"/f.woff2", "gzip", "", 200, false, "font/woff2", "no-cache"},
	} {
		r := ask(e, http.MethodGet, c.path, http.Header{"Accept-Encoding": {c.encoding}, "If-None-Match": {c.tag}})
		got := body(t, r)
		if r.StatusCode != c.status || (r.Header.Get("Content-Encoding") == "gzip") != c.small || r.Header.Get("Content-Type") != c.kind || r.Header.Get("Cache-Control") != c.cache || r.Header.Get("Vary") != "Accept-Encoding" {
			t.Errorf("%s for %q: %d %v", c.path, c.encoding, r.StatusCode, r.Header)
		}
		if c.small {
			got = opened(t, got)
		}
		if want := data; c.status == 200 && !bytes.Equal(got, want) || c.status == 304 && len(got) > 0 {
			t.Errorf("%s for %q: %d bytes", c.path, c.encoding, len(got))
		}
		for k, v := range headers {
			if r.Header.Get(k) != v {
				t.Errorf("%s: %s is %q", c.path, k, r.Header.Get(k))
			}
		}
	}
	if r := ask(e, http.MethodGet, "/s.css", nil); string(body(t, r)) != "a{}" || r.Header.Get("Content-Type") != "text/css; charset=utf-8" || r.Header.Get("Cache-Control") != cacheAsk {
		t.Errorf("style: %v", r.Header)
	}
}

// TestPolicyLetsNothingElseIn holds the policy against Content Security Policy Level 3 (W3C):
// what is not named falls back to none; base-uri, form-action and frame-ancestors fall back
// to nothing and must be named; no source is a place elsewhere or lets text be run.
func TestPolicyLetsNothingElseIn(t *testing.T) {
	got := map[string][]string{}
	for part := range strings.SplitSeq(Policy, ";") {
		words := strings.Fields(part)
		if len(words) < 2 || got[words[0]] != nil {
			t.Fatalf("%q is no directive, or a second one", part)
		}
		got[words[0]] = words[1:]
	}
	if !slices.Equal(got["default-src"], []string{"'none'"}) {
		t.Errorf("what is not named is %v", got["default-src"])
	}
	for _, must := range []string{"base-uri", "form-action", "frame-ancestors", "script-src", "connect-src"} {
		if got[must] == nil {
			t.Errorf("%s is not named", must)
		}
	}
	for name, sources := range got {
		for _, s := range sources {
			if s != "'self'" && s != "'none'" && (s != "data:" || name != "img-src") {
				t.Errorf("%s lets %s in", name, s)
			}
		}
	}
}

// TestTypesOfFiles are those of RFC 9239 (scripts), RFC 8081 (fonts), SVG 1.1, PNG (W3C) and
// the web app manifest (W3C), whatever the machine's table says.
func TestTypesOfFiles(t *testing.T) {
	for name, want := range map[string]string{"a.js": "text/javascript; charset=utf-8", "b/c.mjs": "text/javascript; charset=utf-8", "f.woff2": "font/woff2", "i.svg": "image/svg+xml", "i.png": "image/png",
		"m.webmanifest": "application/manifest+json", "index.html": "text/html; charset=utf-8", "a.css": "text/css; charset=utf-8", "none": ""} {
		if got := typeOf(name); got != want {
			t.Errorf("%s is %q, want %q", name, got, want)
		}
	}
}

// TestPageOrWord: where the page is built each of its files is there under its own name, the
// first under "/"; where it is not, that is said.
func TestPageOrWord(t *testing.T) {
	h := served()
	r := ask(h, http.MethodGet, "/", nil)
	text := body(t, r)
	if _, err := fs.Stat(web.Files(), "index.html"); err != nil {
		if r.StatusCode != http.StatusOK || string(text) != notBuilt {
			t.Errorf("%d %s", r.StatusCode, text)
		}
		return
	}
	first, err := fs.ReadFile(web.Files(), "index.html")
	if err != nil || !bytes.Equal(first, text) {
		t.Errorf("another page than the one built (%v)", err)
	}
	if r := ask(h, http.MethodGet, "/index.html", nil); r.StatusCode != http.StatusNotFound {
		t.Errorf("the page has two addresses: %d", r.StatusCode)
	}
}
