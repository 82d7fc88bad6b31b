package main

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"

	"wideberth/routing/snapshot"
	"wideberth/testdata"
)

// TestReloadLosesNoRequest: while the file of a map is exchanged again and again and the
// real program is told so, by its signal and by an operator's request, every request is
// answered, from the old map or the new; a file that is no map is refused in words and the
// map before it answers on.
func TestReloadLosesNoRequest(t *testing.T) {
	requests := int64(200)
	if os.Getenv("WIDEBERTH_SLOW") != "" {
		requests = 1000
	}
	town, err := snapshot.Open(townFile(t))
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "town.wb")
	put := func(name string) {
		t.Helper()
		other := *town
		other.Name = name
		if err := other.WriteFile(path); err != nil {
			t.Fatal(err)
		}
	}
	put("Map 0")
	p := serving(t, "--snapshot", path, "--metrics", "127.0.0.1:0")
	reload := func() (int, string) {
		t.Helper()
		res, err := http.Post(p.about+"/reload", "application/json", http.NoBody)
		if err != nil {
			t.Fatal(err)
		}
		defer res.Body.Close()
		text, err := io.ReadAll(res.Body)
		if err != nil {
			t.Fatal(err)
		}
		return res.StatusCode, string(text)
	}
	var (
		asked  atomic.Int64
		seen   sync.Map // names of maps that answered
		askers sync.WaitGroup
	)
	for range 8 {
		askers.Go(func() {
			for n := asked.Add(1); n <= requests; n = asked.Add(1) {
				if name, err := askSomething(p.base, n); err != nil {
					t.Errorf("request %d: %v", n, err)
					return
				} else if name != "" {
					seen.Store(name, true)
				}
			}
		})
	}
	turns := 0
	for asked.Load() < requests {
		turns++
		put(fmt.Sprint("Map ", turns))
		if turns%2 == 0 {
			p.signal(syscall.SIGHUP)
			continue
		}
		if code, text := reload(); code != http.StatusOK && code != http.StatusConflict {
			t.Fatalf("reload answers %d: %s", code, text)
		}
	}
	askers.Wait()
	names := 0
	seen.Range(func(any, any) bool { names++; return true })
	t.Logf("%d requests over %d exchanges, answered from %d maps", requests, turns, names)
	if names < 2 {
		t.Errorf("only %d maps answered in %d exchanges", names, turns)
	}
	if err := os.WriteFile(path+".new", []byte("no map"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(path+".new", path); err != nil { // as what is open is not changed in place
		t.Fatal(err)
	}
	code, text := reload()
	for code == http.StatusConflict { // a signal's is under way
		code, text = reload()
	}
	if code != http.StatusServiceUnavailable || !strings.Contains(text, "stay as they were") || !strings.Contains(text, "town.wb") {
		t.Errorf("a file that is no map: %d %s", code, text)
	}
	if _, err := askSomething(p.base, 0); err != nil {
		t.Errorf("after it: %v", err)
	}
	req, err := http.NewRequest(http.MethodPost, p.about+"/reload", http.NoBody)
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Sec-Fetch-Site", "cross-site") // as a browser says of another server's page (W3C Fetch Metadata)
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	_ = res.Body.Close()
	if res.StatusCode != http.StatusForbidden {
		t.Errorf("a page of another server may reload: %d", res.StatusCode)
	}
	p.signal(syscall.SIGTERM)
	p.finished()
}

// askSomething asks for the map, a tile, a place or a way out, in turns, and gives the name
// of the map where that was asked.
func askSomething(base string, n int64) (name string, err error) {
	at := fmt.Sprintf(`{"lat":%g,"lon":%g}`, testdata.DoorLat, testdata.DoorLon)
	var res *http.Response
	switch n % 4 {
	case 0:
		res, err = http.Get(base + "/v1/map")
	case 1:
		res, err = http.Get(base + "/tiles/15/15746/11460.mvt")
	case 2:
		res, err = http.Post(base+"/v1/places", "application/json", strings.NewReader(`{"text":"Weaver Row"}`))
	default:
		res, err = http.Post(base+"/v1/ways-out", "application/json", strings.NewReader(`{"at":`+at+`,"threat":`+at+`}`))
	}
	if err != nil {
		return "", err
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	if err != nil {
		return "", err
	}
	if res.StatusCode != http.StatusOK && res.StatusCode != http.StatusNoContent {
		return "", fmt.Errorf("status %d: %s", res.StatusCode, text)
	}
	var told struct {
		Name string `json:"name"`
	}
	if n%4 == 0 {
		err = json.Unmarshal(text, &told)
	}
	return told.Name, err
}
