package api_test

import (
	"bytes"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"wideberth/api"
	"wideberth/exposure/hours"
	"wideberth/routing"
	"wideberth/routing/atlas"
)

// TestPanicOfOneRequest: a fault of ours in a goroutine of one request, here
// provoked by a map whose sources have an activity that no table has, is that
// request's: it gets a problem document, the log the place, and the server lives.
func TestPanicOfOneRequest(t *testing.T) {
	whole, err := town()
	if err != nil {
		t.Fatal(err)
	}
	snap := *whole.Snapshot()
	snap.Field = snap.Field.With(nil)
	snap.Field.Sources = slices.Clone(snap.Field.Sources)
	for i := range snap.Field.Sources {
		snap.Field.Sources[i].Activity = hours.Activity(250)
	}
	broken, err := routing.NewPlanner(&snap, nil)
	if err != nil {
		t.Fatal(err)
	}
	var log bytes.Buffer
	srv := httptest.NewServer(api.New(api.Options{Atlas: atlas.Of(broken), Now: noon, Log: slog.New(slog.NewTextHandler(&log, nil))}).Handler())
	defer srv.Close()
	for _, c := range []struct{ path, body string }{
		{"/v1/weeks", wish(`,"minutes":30,"hours":8` + kessa)},
		{"/v1/outings", shelter("")},
		{"/v1/where", wish(`,"minutes":30,"drive_minutes":10` + kessa)},
		{"/v1/plans", wish(`,"minutes":30` + kessa)},
	} {
		log.Reset()
		res, err := http.Post(srv.URL+c.path, "application/json", strings.NewReader(c.body))
		if err != nil {
			t.Fatalf("%s: %v", c.path, err)
		}
		body, err := io.ReadAll(res.Body)
		res.Body.Close()
		if err != nil || res.StatusCode != http.StatusInternalServerError || res.Header.Get("Content-Type") != "application/problem+json" || !strings.Contains(string(body), "urn:wideberth:internal") {
			t.Errorf("%s: status %d, %s, %v: %s", c.path, res.StatusCode, res.Header.Get("Content-Type"), err, body)
		}
		if !strings.Contains(log.String(), "level=ERROR msg=panic") || !strings.Contains(log.String(), "exposure/tempo.go") {
			t.Errorf("%s: the log does not say where:\n%s", c.path, log.String())
		}
		if res, err := http.Get(srv.URL + "/healthz"); err != nil || res.StatusCode != http.StatusOK {
			t.Errorf("health after %s: %v, %v", c.path, res, err)
		}
	}
}

// TestMapCutShort: a map's file that somebody cuts short while it is open costs the
// requests that read on in it, and not the server.
func TestMapCutShort(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("elsewhere the file may be read whole")
	}
	whole, err := town()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "town.wb")
	if err := whole.Snapshot().WriteFile(path); err != nil {
		t.Fatal(err)
	}
	a, err := atlas.Open(t.Context(), []string{path}, atlas.Options{})
	if err != nil {
		t.Fatal(err)
	}
	srv := httptest.NewServer(api.New(api.Options{Atlas: a, Now: noon}).Handler())
	defer srv.Close()
	if err := os.Truncate(path, 4096); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ path, body string }{
		{"/v1/plans", wish(`,"minutes":30` + kessa)},
		{"/v1/weeks", wish(`,"minutes":30,"hours":8` + kessa)}, // on goroutines of its own
	} {
		res, err := http.Post(srv.URL+c.path, "application/json", strings.NewReader(c.body))
		if err != nil {
			t.Fatalf("%s: %v", c.path, err)
		}
		res.Body.Close()
		if res.StatusCode != http.StatusInternalServerError {
			t.Errorf("%s answers %d", c.path, res.StatusCode)
		}
	}
	if res, err := http.Get(srv.URL + "/healthz"); err != nil || res.StatusCode != http.StatusOK {
		t.Errorf("health: %v, %v", res, err)
	}
}
