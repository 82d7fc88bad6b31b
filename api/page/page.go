// Package page sends the page's files and the map's tiles, each with the headers that let
// a browser keep it and do nothing else with it.
package page

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"hash/fnv"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strings"
	"sync"

	"github.com/labstack/echo/v4"

	"wideberth/api/web"
)

// Policy lets the page use what comes from this server and nothing else:
// no script or style within a document, no other origin. The data: images are
// the drawn signs of the map library's buttons.
const Policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; " +
	"connect-src 'self'; worker-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

// headers go with every file of the page.
var headers = map[string]string{
	"Content-Security-Policy":    Policy,
	"X-Content-Type-Options":     "nosniff",
	"Referrer-Policy":            "no-referrer",
	"Cross-Origin-Opener-Policy": "same-origin",
	"Permissions-Policy":         "geolocation=(self), screen-wake-lock=(self), camera=(), microphone=()",
}

// Files whose name holds a hash of their content never change; the others are
// asked for anew each time.
const (
	cacheForever = "public, max-age=31536000, immutable"
	cacheAsk     = "no-cache"
)

// notBuilt is said in place of the page where only the Go part was built.
const notBuilt = "The page is not built into this program. Run: make page build\n"

// file is one of the page, ready to be sent.
type file struct {
	kind  string
	cache string
	tag   string
	plain []byte
	small func() []byte // compressed once, when it is first asked for; nil where that saves nothing
}

// Routes serves the page, one route a file so that unknown paths and wrong methods stay
// what they are, and the tiles of the map as draw draws them.
func Routes(e *echo.Echo, draw Draw) {
	getOrHead(e, "/tiles/:z/:x/:y", func(c echo.Context) error { return sendTile(c, draw) })
	built := false
	err := fs.WalkDir(web.Files(), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || strings.HasPrefix(path.Base(name), ".") {
			return err
		}
		f, err := newFile(name)
		if err != nil {
			return err
		}
		route := "/" + name
		if name == "index.html" {
			route, built = "/", true
		}
		getOrHead(e, route, f.send)
		return nil
	})
	if err != nil {
		panic(err) // the files are inside the program
	}
	if !built {
		getOrHead(e, "/", func(c echo.Context) error { return c.String(http.StatusOK, notBuilt) })
	}
}

// Style serves a style sheet of a page that is not among the files.
func Style(e *echo.Echo, route string, css func() []byte) {
	getOrHead(e, route, func(c echo.Context) error {
		c.Response().Header().Set(echo.HeaderCacheControl, cacheAsk)
		return c.Blob(http.StatusOK, "text/css; charset=utf-8", css())
	})
}

func getOrHead(e *echo.Echo, route string, h echo.HandlerFunc) {
	e.GET(route, h)
	e.HEAD(route, h)
}

func newFile(name string) (*file, error) {
	data, err := fs.ReadFile(web.Files(), name)
	if err != nil {
		return nil, fmt.Errorf("page: %w", err)
	}
	sum := fnv.New64a()
	_, _ = sum.Write(data) // a hash never fails to write
	f := &file{kind: typeOf(name), cache: cacheAsk, tag: fmt.Sprintf(`"%016x"`, sum.Sum64()), plain: data}
	if strings.HasPrefix(name, "assets/") {
		f.cache = cacheForever
	}
	if !strings.HasSuffix(name, ".woff2") {
		f.small = sync.OnceValue(func() []byte { return squeezedBest(data) })
	}
	return f, nil
}

// typeOf does not ask the machine's own table, which may lack or twist types.
func typeOf(name string) string {
	switch path.Ext(name) {
	case ".js", ".mjs":
		return "text/javascript; charset=utf-8"
	case ".woff2":
		return "font/woff2"
	case ".svg":
		return "image/svg+xml"
	case ".png":
		return "image/png"
	case ".webmanifest":
		return "application/manifest+json"
	}
	return mime.TypeByExtension(path.Ext(name))
}

// send answers with the file, compressed where the client takes it.
func (f *file) send(c echo.Context) error {
	h := c.Response().Header()
	for k, v := range headers {
		h.Set(k, v)
	}
	h.Set(echo.HeaderCacheControl, f.cache)
	h.Set("ETag", f.tag)
	h.Add(echo.HeaderVary, echo.HeaderAcceptEncoding)
	if has(c.Request(), f.tag) {
		return c.NoContent(http.StatusNotModified)
	}
	data := f.plain
	if f.small != nil && takesGzip(c.Request()) {
		data = f.small()
		h.Set(echo.HeaderContentEncoding, "gzip")
	}
	return c.Blob(http.StatusOK, f.kind, data)
}

// has says that a client has what bears a tag (RFC 9110, section 13.1.2): a list of tags,
// which a proxy on the way may have made weak, or whatever there is.
func has(r *http.Request, tag string) bool {
	for one := range strings.SplitSeq(strings.Join(r.Header.Values("If-None-Match"), ","), ",") {
		if one = strings.TrimSpace(one); one == "*" || strings.TrimPrefix(one, "W/") == tag {
			return true
		}
	}
	return false
}

// takesGzip says that a client takes it compressed: named, and not with a weight of nought,
// by which RFC 9110, section 12.4.2, refuses.
func takesGzip(r *http.Request) bool {
	for one := range strings.SplitSeq(strings.Join(r.Header.Values(echo.HeaderAcceptEncoding), ","), ",") {
		name, weight, _ := strings.Cut(one, ";")
		if strings.EqualFold(strings.TrimSpace(name), "gzip") {
			_, q, said := strings.Cut(strings.ToLower(weight), "q=")
			return !said || strings.Trim(q, "0. ") != ""
		}
	}
	return false
}

func squeezedBest(data []byte) []byte {
	var out bytes.Buffer
	w, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	if err != nil {
		panic(err) // the level is a constant that exists
	}
	_, _ = w.Write(data) // a buffer never fails to take bytes
	_ = w.Close()
	return out.Bytes()
}
