package api_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"net/http/httptest"
	"runtime"
	"slices"
	"strings"
	"testing"

	"wideberth/api/problem"
)

// operation is one that takes JSON, with the description's example of its body.
type operation struct{ method, path, example string }

// taking are the operations of a server that take a body.
func taking(t testing.TB, h http.Handler) (list []operation) {
	t.Helper()
	var doc struct {
		Paths map[string]map[string]struct {
			RequestBody struct {
				Content map[string]struct{ Example json.RawMessage }
			}
		}
	}
	_, text := do(t, h, "GET", "/openapi.json", "", "")
	if err := json.Unmarshal(text, &doc); err != nil {
		t.Fatal(err)
	}
	for _, path := range slices.Sorted(maps.Keys(doc.Paths)) {
		for method, op := range doc.Paths[path] {
			if body, takes := op.RequestBody.Content["application/json"]; takes {
				list = append(list, operation{strings.ToUpper(method), strings.NewReplacer("{kind}", "visits", "{id}", "nothing").Replace(path), string(body.Example)})
			}
		}
	}
	if len(list) < 30 {
		t.Fatalf("only %d operations take a body", len(list))
	}
	return list
}

// mostRefusal is the length of any answer to a body that is refused, mostAnswer that of
// any other: a timetable of sixty dogs with all legs takes half of it.
const (
	mostRefusal = 64 << 10
	mostAnswer  = 4 << 20
)

// sent sends a body and gives the answer, which must be small if it is a refusal of
// the body, and must not be a fault of ours.
func (op operation) sent(t testing.TB, h http.Handler, name, body string) *httptest.ResponseRecorder {
	t.Helper()
	req := httptest.NewRequest(op.method, "http://localhost:8080"+op.path, strings.NewReader(body))
	req.Header.Set("Content-Type", "application/json")
	rec := httptest.NewRecorder()
	h.ServeHTTP(rec, req)
	refused := rec.Code >= 400 && !strings.Contains(rec.Body.String(), "urn:wideberth:no-walk")
	if refused && rec.Body.Len() >= mostRefusal {
		t.Errorf("%s %s, %s: %d bytes are refused (%d) in %d bytes", op.method, op.path, name, len(body), rec.Code, rec.Body.Len())
	}
	if rec.Body.Len() > mostAnswer {
		t.Errorf("%s %s, %s: %d bytes are answered (%d) with %d", op.method, op.path, name, len(body), rec.Code, rec.Body.Len())
	}
	if rec.Code >= 500 && rec.Code != 503 && rec.Code != 504 {
		t.Errorf("%s %s, %s: status %d: %s", op.method, op.path, name, rec.Code, clip(rec.Body.Bytes()))
	}
	return rec
}

// unknownKeys is an object of about so many bytes with nothing in it that any
// operation knows.
func unknownKeys(bytes int) string {
	var b strings.Builder
	b.WriteByte('{')
	for i := 0; b.Len() < bytes; i++ {
		if i > 0 {
			b.WriteByte(',')
		}
		fmt.Fprintf(&b, `"k%05x":0`, i)
	}
	b.WriteByte('}')
	return b.String()
}

// crowded is an example with many unknown keys, among them long ones and such as
// take six bytes to write, in each of its objects.
func crowded(v any) any {
	switch v := v.(type) {
	case map[string]any:
		for k, x := range v {
			v[k] = crowded(x)
		}
		for i := range 300 {
			v[fmt.Sprintf("%d%s", i, strings.Repeat("\x01<", 40))] = strings.Repeat("\x02", 100)
		}
	case []any:
		for i := range v {
			v[i] = crowded(v[i])
		}
	}
	return v
}

// swollen is an example with its texts and lists far too long.
func swollen(v any) any {
	switch v := v.(type) {
	case map[string]any:
		for k, x := range v {
			v[k] = swollen(x)
		}
	case []any:
		for i := range v {
			v[i] = swollen(v[i])
		}
		if len(v) > 0 {
			return slices.Repeat(v, 50)
		}
	case string:
		return v + strings.Repeat("\x00\u202e", 2000)
	case float64:
		return -1e9 * (v + 1)
	}
	return v
}

// TestRefusalsStaySmall: no body makes any operation write much more than it read.
// An object with 8,000 unknown keys once was answered with all of it for each key,
// 59 kB with 354 MB.
func TestRefusalsStaySmall(t *testing.T) {
	if testing.Short() {
		t.Skip("a hundred refusals one after the other")
	}
	_, h := memory(t, true)
	for _, op := range taking(t, h) {
		for name, change := range map[string]func(any) any{"crowded": crowded, "swollen": swollen} {
			var v any
			if err := json.Unmarshal([]byte(op.example), &v); err != nil {
				t.Fatal(err)
			}
			body, err := json.Marshal(change(v))
			if err != nil {
				t.Fatal(err)
			}
			op.sent(t, h, name, string(body))
		}
		rec := op.sent(t, h, "unknown keys", unknownKeys(59_000))
		var p problem.Problem
		if err := json.Unmarshal(rec.Body.Bytes(), &p); err != nil {
			t.Fatal(err)
		}
		if rec.Code == 422 && (len(p.Errors) != 20 || p.Faults < 4000 || !strings.Contains(p.Detail, "faults")) {
			t.Errorf("%s %s: %d faults told of %d: %s", op.method, op.path, len(p.Errors), p.Faults, p.Detail)
		}
		op.sent(t, h, "a list", "["+strings.Repeat("{},", 20_000)+"0]")
		op.sent(t, h, "deep", strings.Repeat(`{"from":`, 9_000)+"0"+strings.Repeat("}", 9_000))
		op.sent(t, h, "too deep", strings.Repeat("[", 60_000))
		op.sent(t, h, "no JSON", strings.Repeat("\x00", 60_000))
		op.sent(t, h, "a dog of all kinds", `{"dog":{"name":"x","needs":`+unknownKeys(200_000)+`}}`)
	}
}

// TestRefusalTakesLittleMemory: what a refusal allocates, all in all, is bounded by what
// was sent, not by its square, and not by the number of its faults: those of a MiB of
// empty dogs once took half a GB.
func TestRefusalTakesLittleMemory(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	_, h := memory(t, true)
	empty := strings.Repeat("{},", 330_000) // each without all that it needs
	for _, op := range taking(t, h) {
		for name, c := range map[string]struct {
			body   string
			mostMB uint64
		}{
			"unknown keys": {unknownKeys(165_000), 12}, "empty dogs": {`{"dogs":[` + empty + `{}]}`, 120}, "empty rows": {`{"timetable":{"rows":[` + empty + `{}]}}`, 120},
		} {
			if c.mostMB > 12 && !strings.HasPrefix(op.path, "/v1/outings") {
				continue // one unknown key
			}
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			op.sent(t, h, name, c.body)
			runtime.ReadMemStats(&after)
			if got := (after.TotalAlloc - before.TotalAlloc) >> 20; got > c.mostMB {
				t.Errorf("%s %s, %s: %d bytes cost %d MB", op.method, op.path, name, len(c.body), got)
			}
		}
	}
}
