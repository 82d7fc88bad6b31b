package api_test

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"crypto/rand"

	"wideberth/api"
	"wideberth/api/store"
)

// TestEveryRouteHolds asks every route of the server, whatever its answer, and holds
// its headers: what is under /v1 stays in no cache, nothing is taken for what it does
// not say it is (Fetch standard, X-Content-Type-Options), everything carries a policy
// (Content Security Policy 3), and the id of a request is short, whoever gave it. The
// description names a key for all that need one.
func TestEveryRouteHolds(t *testing.T) {
	m, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "memory.db"), store.Options{Now: noon, Rand: rand.Reader})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { m.Close() })
	local, err := m.Local(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	h := server(t, api.Options{Store: m, Local: local}).Handler()
	text, err := api.Description("test")
	if err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Paths      map[string]map[string]struct{ Security []map[string][]string }
		Components struct {
			SecuritySchemes map[string]struct{ Type, Scheme string }
		}
	}
	if err := json.Unmarshal(text, &doc); err != nil {
		t.Fatal(err)
	}
	if s := doc.Components.SecuritySchemes["key"]; s.Type != "http" || s.Scheme != "bearer" {
		t.Errorf("way in %+v", s)
	}
	plain := regexp.MustCompile(`^[A-Za-z0-9_.:-]{1,64}$`)
	asked := 0
	ask := func(method, path, id string) {
		asked++
		r := httptest.NewRequest(method, "http://localhost"+path, strings.NewReader(`{}`))
		r.Header.Set("Content-Type", "application/json")
		r.Header.Set("X-Request-Id", id)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		head := w.Header()
		cached := head.Get("Cache-Control")
		if strings.HasPrefix(path, "/v1/") && !strings.Contains(cached, "no-store") {
			t.Errorf("%s %s: %d, may be kept: %q", method, path, w.Code, cached)
		}
		if head.Get("X-Content-Type-Options") != "nosniff" || !strings.Contains(head.Get("Content-Security-Policy"), "default-src") {
			t.Errorf("%s %s: %d, headers %v", method, path, w.Code, head)
		}
		if got := head.Get("X-Request-Id"); !plain.MatchString(got) || id == "mine-1" && got != id {
			t.Errorf("%s %s: the request's id %.80q", method, path, got)
		}
	}
	for path, item := range doc.Paths {
		for method, op := range item {
			method = strings.ToUpper(method)
			if named := len(op.Security) == 1 && op.Security[0]["key"] != nil; named != strings.HasPrefix(path, "/v1/") {
				t.Errorf("%s %s: security %v", method, path, op.Security)
			}
			at := regexp.MustCompile(`\{[^}]*\}`).ReplaceAllString(path, "1")
			ask(method, at, "mine-1")
			ask(method, at, strings.Repeat("x", 4000))
			ask(http.MethodPatch, at, "two\twords")
		}
	}
	ask(http.MethodGet, "/v1/none", "")
	ask(http.MethodGet, "/", "")
	ask(http.MethodGet, "/icon.svg", "")
	if asked < 200 {
		t.Errorf("only %d requests", asked)
	}
}
