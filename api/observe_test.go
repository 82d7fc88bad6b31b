package api_test

import (
	"context"
	"crypto/rand"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus/testutil/promlint"
	"go.opentelemetry.io/otel/codes"
	sdktrace "go.opentelemetry.io/otel/sdk/trace"
	"go.opentelemetry.io/otel/sdk/trace/tracetest"

	"wideberth/api"
	"wideberth/api/knowledge"
	"wideberth/api/metrics"
	"wideberth/api/store"
)

// scrape reads the figures as Prometheus would: the text as a whole, and each sample.
func scrape(t *testing.T, m *metrics.Metrics) (text string, samples map[string]float64) {
	t.Helper()
	rec := httptest.NewRecorder()
	m.Handler().ServeHTTP(rec, httptest.NewRequest(http.MethodGet, "/metrics", nil))
	if rec.Code != 200 {
		t.Fatalf("status %d: %s", rec.Code, rec.Body.String())
	}
	text, samples = rec.Body.String(), map[string]float64{}
	for line := range strings.Lines(text) {
		line = strings.TrimSpace(line)
		cut := strings.LastIndexByte(line, ' ')
		if strings.HasPrefix(line, "#") || cut < 0 {
			continue
		}
		v, err := strconv.ParseFloat(line[cut+1:], 64)
		if err != nil {
			t.Fatalf("%q: %v", line, err)
		}
		samples[line[:cut]] = v
	}
	return text, samples
}

// TestFigures asks for something of each sort and finds it counted, once and where it
// belongs. Prometheus' own linter has nothing to say to names, units and help.
func TestFigures(t *testing.T) {
	m := metrics.New("test")
	memory, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "memory.db"), store.Options{Now: noon, Rand: rand.Reader, Count: knowledge.Count})
	if err != nil {
		t.Fatal(err)
	}
	defer memory.Close()
	local, err := memory.Local(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	h := server(t, api.Options{Metrics: m, Store: memory, Local: local}).Handler()
	send(t, h, "GET", "/healthz", "", "", 200, nil)
	send(t, h, "POST", "/v1/plans", "", wish(`,"shape":"loop","minutes":30`+kessa), 200, nil)
	send(t, h, "POST", "/v1/proofs", "", `{"wish":`+wish(`,"shape":"loop","minutes":30`+kessa)+`}`, 200, nil) // a plan comes without it
	send(t, h, "POST", "/v1/plans", "", wish(`,"shape":"loop","minutes":1`), 422, nil)
	send(t, h, "POST", "/v1/plans", "", wish(`,"minutes":30,"shape":"a shape of `+strings.Repeat("x", 90)+`"`), 422, nil)
	send(t, h, "GET", "/v1/dogs", "", "", 200, nil)
	send(t, h, "GET", "/no/such/"+strings.Repeat("y", 70), "", "", 404, nil)
	text, got := scrape(t, m)
	for series, want := range map[string]float64{
		`wideberth_request_duration_seconds_count{operation="health",status="200"}`: 1,
		`wideberth_request_duration_seconds_count{operation="plan",status="200"}`:   1,
		`wideberth_request_duration_seconds_count{operation="plan",status="422"}`:   2,
		`wideberth_request_duration_seconds_count{operation="dogs",status="200"}`:   1,
		`wideberth_request_duration_seconds_count{operation="none",status="404"}`:   1,
		`wideberth_plan_duration_seconds_count{outcome="done",shape="loop"}`:        2,
		`wideberth_plan_duration_seconds_count{outcome="refused",shape="loop"}`:     1,
		`wideberth_proof_work_count{shape="loop"}`:                                  1,
		`wideberth_gate_requests_total{outcome="entered"}`:                          3,
		`wideberth_gate_requests_total{outcome="full"}`:                             0,
		`wideberth_gate_in`:                            0,
		`wideberth_gate_waiting`:                       0,
		`wideberth_requests_in_flight`:                 0,
		`wideberth_draining`:                           0,
		`wideberth_build_info{version="test"}`:         1,
		`wideberth_gate_wait_seconds_count`:            3,
		`wideberth_store_connections`:                  0,
		`go_info{version="` + runtime.Version() + `"}`: 1,
	} {
		if v, ok := got[series]; !ok || v != want {
			t.Errorf("%s is %g (there: %v), want %g", series, v, ok, want)
		}
	}
	if n := got[`wideberth_store_duration_seconds_count{outcome="done",sort="read"}`]; n < 1 {
		t.Errorf("%g reads of the store were counted", n)
	}
	if work := got[`wideberth_proof_work_sum{shape="loop"}`]; work < 1 {
		t.Errorf("the certificate took %g partial walks", work)
	}
	if strings.Contains(text, "xxx") || strings.Contains(text, "yyy") {
		t.Error("a label holds what a client chose")
	}
	problems, err := promlint.New(strings.NewReader(ours(text))).Lint()
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range problems {
		t.Errorf("%s: %s", p.Metric, p.Text)
	}
}

// TestFiguresOfAFullGate: who waits and who is refused is seen from outside.
func TestFiguresOfAFullGate(t *testing.T) {
	m := metrics.New("test")
	h := server(t, api.Options{Metrics: m, Searches: 1, Queue: 1, Wait: time.Nanosecond}).Handler()
	answered := make(chan int)
	const askers = 8
	for range askers {
		go func() {
			rec := httptest.NewRecorder()
			req := httptest.NewRequest(http.MethodPost, "http://localhost:8080/v1/plans", strings.NewReader(wish(`,"minutes":60`+kessa)))
			req.Header.Set("Content-Type", "application/json")
			h.ServeHTTP(rec, req)
			answered <- rec.Code
		}()
	}
	byStatus := map[int]float64{}
	for range askers {
		byStatus[<-answered]++
	}
	_, got := scrape(t, m)
	entered := got[`wideberth_gate_requests_total{outcome="entered"}`]
	refused := got[`wideberth_gate_requests_total{outcome="full"}`] + got[`wideberth_gate_requests_total{outcome="crowded"}`]
	if entered != byStatus[200] || entered < 1 || entered+refused != askers || refused != byStatus[503]+byStatus[429] {
		t.Errorf("%g entered and %g refused of %d, answers %v", entered, refused, askers, byStatus)
	}
}

// TestTraces: a request is a span with the conventions' names (OpenTelemetry semantic
// conventions for HTTP), a child of the client's own (W3C Trace Context, whose example
// is sent), the search stands below it, and nothing in it tells where anybody walks.
func TestTraces(t *testing.T) {
	out := tracetest.NewInMemoryExporter()
	provider := sdktrace.NewTracerProvider(sdktrace.WithSyncer(out))
	defer provider.Shutdown(context.WithoutCancel(t.Context()))
	h := server(t, api.Options{Traces: provider}).Handler()
	req := httptest.NewRequest(http.MethodPost, "http://localhost:8080/v1/plans?secret=1", strings.NewReader(wish(`,"shape":"loop","minutes":30`)))
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("Traceparent", "00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01")
	h.ServeHTTP(httptest.NewRecorder(), req)
	spans := out.GetSpans()
	var names []string
	for _, s := range spans {
		names = append(names, s.Name)
		if s.SpanContext.TraceID().String() != "4bf92f3577b34da6a3ce929d0e0e4736" || s.Status.Code == codes.Error {
			t.Errorf("%s is of trace %s, %v", s.Name, s.SpanContext.TraceID(), s.Status)
		}
		for _, a := range s.Attributes {
			if v := a.Value.String(); strings.Contains(v, "secret") || strings.Contains(v, "47.") {
				t.Errorf("%s tells %s = %s", s.Name, a.Key, v)
			}
		}
	}
	if !slices.Equal(names, []string{"gate", "search", "plan"}) {
		t.Fatalf("spans %v", names)
	}
	root := spans[2]
	if root.Parent.SpanID().String() != "00f067aa0ba902b7" || spans[1].Parent.SpanID() != root.SpanContext.SpanID() {
		t.Error("the spans do not hang together")
	}
	told := map[string]string{}
	for _, a := range root.Attributes {
		told[string(a.Key)] = a.Value.String()
	}
	if told["http.request.method"] != "POST" || told["http.route"] != "/v1/plans" || told["http.response.status_code"] != "200" || told["request.id"] == "" {
		t.Errorf("attributes %v", told)
	}
}

var ofOthers = regexp.MustCompile(`(?m)^(# (HELP|TYPE) )?(go|process)_.*\n`)

// ours is a text without what the client library itself measures.
func ours(text string) string { return ofOthers.ReplaceAllString(text, "") }
