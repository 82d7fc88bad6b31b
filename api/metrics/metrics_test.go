package metrics_test

import (
	"io"
	"maps"
	"net/http"
	"net/http/httptest"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"wideberth/api/metrics"
)

// scraped reads what is answered to a scrape: each sample of our own by its name and
// labels, as in the text format of Prometheus ("name{labels} value").
func scraped(t *testing.T, m *metrics.Metrics) map[string]float64 {
	t.Helper()
	rec := httptest.NewRecorder()
	m.Handler().ServeHTTP(rec, httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/metrics", nil))
	text, err := io.ReadAll(rec.Result().Body)
	if err != nil || rec.Code != http.StatusOK {
		t.Fatalf("status %d, %v", rec.Code, err)
	}
	out := map[string]float64{}
	for line := range strings.Lines(string(text)) {
		if !strings.HasPrefix(line, "wideberth_") {
			continue
		}
		name, value, _ := strings.Cut(strings.TrimPrefix(strings.TrimSpace(line), "wideberth_"), " ")
		x, err := strconv.ParseFloat(value, 64)
		if err != nil {
			t.Fatalf("%q: %v", line, err)
		}
		if !strings.Contains(name, "_bucket{") {
			out[name] = x
		}
	}
	return out
}

// TestWhatIsCounted: each event moves what it should and nothing else.
func TestWhatIsCounted(t *testing.T) {
	m := metrics.New("v1")
	if got, want := slices.Sorted(maps.Keys(scraped(t, m))), []string{"build_info{version=\"v1\"}", "gate_wait_seconds_count", "gate_wait_seconds_sum", "requests_in_flight"}; !slices.Equal(got, want) {
		t.Errorf("before anything %q, want %q", got, want)
	}
	for _, c := range []struct {
		what string
		do   func()
		want map[string]float64
	}{
		{"a request", func() { m.Enter()("plan", 404, 1500*time.Millisecond) }, map[string]float64{`request_duration_seconds_count{operation="plan",status="404"}`: 1, `request_duration_seconds_sum{operation="plan",status="404"}`: 1.5}},
		{"one under way", func() { m.Enter() }, map[string]float64{"requests_in_flight": 1}},
		{"a plan without a walk", func() { m.Plan("loop", "infeasible", 2*time.Second, nil) }, map[string]float64{`plan_duration_seconds_count{outcome="infeasible",shape="loop"}`: 1, `plan_duration_seconds_sum{outcome="infeasible",shape="loop"}`: 2}},
		{"a proved one", func() { m.Plan("loop", "found", 0, &metrics.Proof{Proved: true, WithinPct: 3, Work: 5000}) }, map[string]float64{`plan_duration_seconds_count{outcome="found",shape="loop"}`: 1, `plan_duration_seconds_sum{outcome="found",shape="loop"}`: 0,
			`proof_work_count{shape="loop"}`: 1, `proof_work_sum{shape="loop"}`: 5000, `proofs_total{proof="best",shape="loop"}`: 1}},
		{"a bounded one", func() { m.Plan("ways", "found", 0, &metrics.Proof{WithinPct: 0, Work: 0}) }, map[string]float64{`plan_duration_seconds_count{outcome="found",shape="ways"}`: 1, `plan_duration_seconds_sum{outcome="found",shape="ways"}`: 0,
			`proofs_total{proof="bounded",shape="ways"}`: 1, `proof_within_percent_count{shape="ways"}`: 1, `proof_within_percent_sum{shape="ways"}`: 0}},
		{"one of which nothing is known", func() { m.Plan("ways", "found", 0, &metrics.Proof{WithinPct: -1, Work: 1}) }, map[string]float64{`plan_duration_seconds_count{outcome="found",shape="ways"}`: 1,
			`proof_work_count{shape="ways"}`: 1, `proof_work_sum{shape="ways"}`: 1, `proofs_total{proof="none",shape="ways"}`: 1}},
		{"a wait", func() { m.Waited(250 * time.Millisecond) }, map[string]float64{"gate_wait_seconds_count": 1, "gate_wait_seconds_sum": 0.25}},
		{"a read", func() { m.Stored(false, time.Second, "done") }, map[string]float64{`store_duration_seconds_count{outcome="done",sort="read"}`: 1, `store_duration_seconds_sum{outcome="done",sort="read"}`: 1}},
		{"a write", func() { m.Stored(true, time.Second, "busy") }, map[string]float64{`store_duration_seconds_count{outcome="busy",sort="write"}`: 1, `store_duration_seconds_sum{outcome="busy",sort="write"}`: 1}},
	} {
		before := scraped(t, m)
		c.do()
		moved := map[string]float64{}
		for name, x := range scraped(t, m) {
			if was, there := before[name]; x != was || !there {
				moved[name] = x - was
			}
		}
		if !maps.Equal(moved, c.want) {
			t.Errorf("%s moves %v, want %v", c.what, moved, c.want)
		}
	}
}

// TestWhatIsAskedFor: levels and tallies are read at each scrape, not when they are made.
func TestWhatIsAskedFor(t *testing.T) {
	m := metrics.New("v1")
	level, done := 3.0, 10.0
	m.Level("maps", "Maps.", func() float64 { return level })
	m.Tally("rows_total", "Rows.", "sort", map[string]func() float64{"kept": func() float64 { return done }, "dropped": func() float64 { return 1 }})
	for range 2 {
		got := scraped(t, m)
		if got["maps"] != level || got[`rows_total{sort="kept"}`] != done || got[`rows_total{sort="dropped"}`] != 1 {
			t.Errorf("%v, want %g and %g", got, level, done)
		}
		level, done = 5, 12
	}
}

// TestNilCountsNothing: a server without counters runs the same, from many goroutines as
// with them; in the end as many have left as have entered.
func TestNilCountsNothing(t *testing.T) {
	counting := metrics.New("v1")
	for _, m := range []*metrics.Metrics{nil, counting} {
		var wait sync.WaitGroup
		for range 20 {
			wait.Go(func() {
				leave := m.Enter()
				m.Plan("loop", "found", time.Second, &metrics.Proof{Proved: true})
				m.Waited(time.Second)
				m.Stored(true, time.Second, "done")
				leave("plan", http.StatusOK, time.Second)
			})
		}
		wait.Wait()
	}
	var none *metrics.Metrics
	none.Level("maps", "Maps.", func() float64 { return 1 })
	none.Tally("rows_total", "Rows.", "sort", map[string]func() float64{"kept": func() float64 { return 1 }})
	got := scraped(t, counting)
	if got["requests_in_flight"] != 0 || got[`request_duration_seconds_count{operation="plan",status="200"}`] != 20 || got[`store_duration_seconds_count{outcome="done",sort="write"}`] != 20 || got["gate_wait_seconds_count"] != 20 {
		t.Errorf("%v", got)
	}
}
