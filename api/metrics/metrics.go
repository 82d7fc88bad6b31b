// Package metrics counts what a server does, in the text format of Prometheus:
// requests, plans, the gate, the store, the map, the Go runtime. Names and units follow
// Prometheus' conventions: base units, counters that end in _total. No label has
// a value that a client can choose.
package metrics

import (
	"net/http"
	"strconv"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// Metrics counts. Nil counts nothing, at no cost. Safe for concurrent use.
type Metrics struct {
	registry *prometheus.Registry
	requests *prometheus.HistogramVec
	inFlight prometheus.Gauge
	plans    *prometheus.HistogramVec
	work     *prometheus.HistogramVec
	proofs   *prometheus.CounterVec
	within   *prometheus.HistogramVec
	waits    prometheus.Histogram
	store    *prometheus.HistogramVec
}

// Bounds of the buckets: requests from a millisecond to their deadline; plans alike;
// work in partial walks; a walk's proved distance from the best in per cent.
var (
	requestBucketsS = []float64{0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30}
	planBucketsS    = []float64{0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30}
	storeBucketsS   = []float64{0.0005, 0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 5, 15}
	workBuckets     = prometheus.ExponentialBuckets(1000, 4, 9)
	withinBuckets   = []float64{0.1, 1, 2, 5, 10, 20, 50, 100}
)

// New makes what counts, with the Go runtime and the process already in it.
func New(version string) *Metrics {
	m := &Metrics{registry: prometheus.NewRegistry()}
	m.requests = histogram("request_duration_seconds", "Requests answered, by operation and status.", requestBucketsS, "operation", "status")
	m.inFlight = prometheus.NewGauge(prometheus.GaugeOpts{Name: name("requests_in_flight"), Help: "Requests under way."})
	m.plans = histogram("plan_duration_seconds", "Searches for walks, by shape and how they ended.", planBucketsS, "shape", "outcome")
	m.work = histogram("proof_work", "Work spent on the certificate of a plan's best walk, in partial walks.", workBuckets, "shape")
	m.proofs = prometheus.NewCounterVec(prometheus.CounterOpts{Name: name("proofs_total"), Help: "Plans by what is known of their best walk: none better exists, one at most so much better may, or nothing."}, []string{"shape", "proof"})
	m.within = histogram("proof_within_percent", "How much better than a plan's best walk any other may be, where that is bounded and not nought.", withinBuckets, "shape")
	m.waits = prometheus.NewHistogram(prometheus.HistogramOpts{Name: name("gate_wait_seconds"), Help: "How long those who were let in to search waited for it.", Buckets: requestBucketsS})
	m.store = histogram("store_duration_seconds", "Transactions of the store, by sort and how they ended.", storeBucketsS, "sort", "outcome")
	m.registry.MustRegister(m.requests, m.inFlight, m.plans, m.work, m.proofs, m.within, m.waits, m.store,
		collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	build := prometheus.NewGauge(prometheus.GaugeOpts{Name: name("build_info"), Help: "1, with the program's version.", ConstLabels: prometheus.Labels{"version": version}})
	build.Set(1)
	m.registry.MustRegister(build)
	return m
}

func name(short string) string { return "wideberth_" + short }

func histogram(short, help string, buckets []float64, labels ...string) *prometheus.HistogramVec {
	return prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: name(short), Help: help, Buckets: buckets}, labels)
}

// Handler answers a scrape.
func (m *Metrics) Handler() http.Handler {
	return promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{})
}

// Enter counts a request as under way; what it gives is called when it was answered.
func (m *Metrics) Enter() (leave func(operation string, status int, took time.Duration)) {
	if m == nil {
		return func(string, int, time.Duration) {}
	}
	m.inFlight.Inc()
	return func(operation string, status int, took time.Duration) {
		m.inFlight.Dec()
		m.requests.WithLabelValues(operation, strconv.Itoa(status)).Observe(took.Seconds())
	}
}

// Proof is what is known of a plan's best walk.
type Proof struct {
	Proved    bool
	WithinPct float64 // negative: nothing is known
	Work      int     // partial walks, 0 if no certificate was asked for
}

// Plan counts a search for walks, with the proof of its best if it found one.
func (m *Metrics) Plan(shape, outcome string, took time.Duration, proof *Proof) {
	if m == nil {
		return
	}
	m.plans.WithLabelValues(shape, outcome).Observe(took.Seconds())
	if proof == nil {
		return
	}
	if proof.Work > 0 {
		m.work.WithLabelValues(shape).Observe(float64(proof.Work))
	}
	switch {
	case proof.Proved:
		m.proofs.WithLabelValues(shape, "best").Inc()
	case proof.WithinPct >= 0:
		m.proofs.WithLabelValues(shape, "bounded").Inc()
		m.within.WithLabelValues(shape).Observe(proof.WithinPct)
	default:
		m.proofs.WithLabelValues(shape, "none").Inc()
	}
}

// Waited counts how long somebody waited who was let in.
func (m *Metrics) Waited(d time.Duration) {
	if m != nil {
		m.waits.Observe(d.Seconds())
	}
}

// Stored counts one transaction of the store.
func (m *Metrics) Stored(writes bool, took time.Duration, outcome string) {
	if m == nil {
		return
	}
	sort := "read"
	if writes {
		sort = "write"
	}
	m.store.WithLabelValues(sort, outcome).Observe(took.Seconds())
}

// Level shows a number that is asked for at each scrape.
func (m *Metrics) Level(short, help string, read func() float64) {
	if m != nil {
		m.registry.MustRegister(prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: name(short), Help: help}, read))
	}
}

// Tally shows a number that only grows, by a label, asked for at each scrape.
func (m *Metrics) Tally(short, help, label string, read map[string]func() float64) {
	if m == nil {
		return
	}
	for value, f := range read {
		m.registry.MustRegister(prometheus.NewCounterFunc(prometheus.CounterOpts{Name: name(short), Help: help, ConstLabels: prometheus.Labels{label: value}}, f))
	}
}
