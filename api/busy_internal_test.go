package api

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"runtime"
	"strings"
	"testing"
	"time"

	"wideberth/api/body"
	"wideberth/api/gate"
	"wideberth/routing"
	"wideberth/routing/atlas"
	"wideberth/routing/snapshot/maptest"
	"wideberth/testdata"
)

// Must lets a request in at once.
func must(t *testing.T, g *gate.Gate, name string) (leave func()) {
	t.Helper()
	now, cancel := context.WithCancel(t.Context())
	cancel() // nobody waits with a context that has ended
	leave, err := g.Enter(now, name)
	if err != nil {
		t.Fatalf("%s is not let in at once: %v", name, err)
	}
	return leave
}

// Queued starts a request that waits, and gives where its leave comes when it is
// let in.
func queued(t *testing.T, g *gate.Gate, name string) <-chan func() {
	t.Helper()
	before := g.Load().Waiting
	in := make(chan func(), 1)
	go func() {
		leave, err := g.Enter(t.Context(), name)
		if err == nil {
			in <- leave
		} else if t.Context().Err() == nil {
			t.Errorf("%s: %v", name, err)
		}
	}()
	for g.Load().Waiting == before {
		runtime.Gosched()
	}
	return in
}

// TestWaysOutWaitForNoPlan: with every place and the whole queue of the gate taken by
// searches, a way out and a name are answered, and a large body is read; each has a bound of its own, with words
// and a time to try again.
func TestWaysOutWaitForNoPlan(t *testing.T) {
	p, err := routing.NewPlanner(maptest.Town(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	s := New(Options{Atlas: atlas.Of(p), Now: func() time.Time { return time.Date(2026, 11, 25, 7, 0, 0, 0, time.UTC) }, Searches: 2, Queue: 4, Wait: time.Minute})
	post := func(path, body string) *httptest.ResponseRecorder {
		r := httptest.NewRequest(http.MethodPost, "http://localhost"+path, strings.NewReader(body))
		r.Header.Set("Content-Type", "application/json")
		rec := httptest.NewRecorder()
		s.Handler().ServeHTTP(rec, r)
		return rec
	}
	door := fmt.Sprintf(`{"lat":%g,"lon":%g}`, testdata.DoorLat, testdata.DoorLon)
	quick := map[string]*gate.Gate{"/v1/ways-out": s.exits, "/v1/places": s.looks}
	bodies := map[string]string{"/v1/ways-out": `{"at":` + door + `,"threat":` + door + `}`, "/v1/places": `{"text":"weaver"}`}
	for i := range 2 {
		must(t, s.gate, fmt.Sprint("busy ", i))
	}
	for i := range 4 {
		queued(t, s.gate, fmt.Sprint("waits ", i))
	}
	if rec := post("/v1/plans", `{"from":`+door+`,"minutes":20}`); rec.Code != http.StatusServiceUnavailable {
		t.Fatalf("a plan behind a full gate: %d %s", rec.Code, rec.Body)
	}
	for path, body := range bodies {
		if rec := post(path, body); rec.Code != http.StatusOK {
			t.Errorf("%s while plans take all: %d %s", path, rec.Code, rec.Body)
		}
	}
	large := `{"timetable":{"rows":[` + strings.Repeat(" ", body.MostBytes) + `]}}`
	if rec := post("/v1/outings/check", large); rec.Code != http.StatusUnprocessableEntity {
		t.Errorf("a large body while plans take all: %d %s", rec.Code, rec.Body)
	}
	quick["/v1/outings/check"], bodies["/v1/outings/check"] = s.large, large
	for path, g := range quick {
		for i := range g.Load().Places {
			must(t, g, fmt.Sprint("busy ", i))
		}
		for i := range g.Load().Queue {
			queued(t, g, fmt.Sprint("waits ", i))
		}
		rec := post(path, bodies[path])
		if rec.Code != http.StatusServiceUnavailable || rec.Header().Get("Retry-After") == "" || !strings.Contains(rec.Body.String(), "urn:wideberth:busy") {
			t.Errorf("%s behind its own full gate: %d %s", path, rec.Code, rec.Body)
		}
	}
	for path, length := range map[string]int{"/v1/outings/check": maxTimetableBytes, "/v1/outings": body.MostBytes} {
		if rec := post(path, `{"timetable":{"rows":[`+strings.Repeat(" ", length)+`]}}`); rec.Code != http.StatusRequestEntityTooLarge {
			t.Errorf("%s, %d bytes: %d %s", path, length, rec.Code, rec.Body)
		}
	}
}
