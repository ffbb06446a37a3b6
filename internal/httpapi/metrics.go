package httpapi

import (
	"net/http"
	"strconv"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"midstroke/internal/catalog"
)

// metrics counts and times what is served.
type metrics struct {
	registry  *prometheus.Registry
	requests  *prometheus.CounterVec
	durations *prometheus.HistogramVec
}

// newMetrics registers everything that /metrics shows.
func newMetrics(live *catalog.Live, confirmed func() time.Time) *metrics {
	m := &metrics{
		registry: prometheus.NewRegistry(),
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "midstroke_http_requests_total",
			Help: "Requests answered, by route, method and status.",
		}, []string{"route", "method", "status"}),
		durations: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name: "midstroke_http_request_duration_seconds",
			Help: "Time from a request's header to the end of its answer, by route and status.",
			// An answer takes tens of microseconds; one of a second is broken.
			Buckets: []float64{50e-6, 100e-6, 250e-6, 500e-6, 1e-3, 2.5e-3, 5e-3, 10e-3, 25e-3, 100e-3, 1},
		}, []string{"route", "status"}),
	}
	m.registry.MustRegister(m.requests, m.durations,
		newSnapshotCollector(live, confirmed),
		collectors.NewGoCollector(),
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

// served records one answer. An unknown method is counted as "other", so that
// callers can't make up label values.
func (m *metrics) served(route, method string, status int, took time.Duration) {
	switch method {
	case http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPut, http.MethodPatch, http.MethodDelete, http.MethodOptions:
	default:
		method = "other"
	}
	code := strconv.Itoa(status)
	m.requests.WithLabelValues(route, method, code).Inc()
	m.durations.WithLabelValues(route, code).Observe(took.Seconds())
}

// handler writes the metrics in the text format of Prometheus.
func (m *metrics) handler() http.Handler {
	return promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{})
}

// snapshotCollector tells of the snapshot held at the moment of asking.
type snapshotCollector struct {
	live      *catalog.Live
	confirmed func() time.Time

	revision, parts, stale, age *prometheus.Desc
}

func newSnapshotCollector(live *catalog.Live, confirmed func() time.Time) *snapshotCollector {
	desc := func(name, help string, labels ...string) *prometheus.Desc {
		return prometheus.NewDesc("midstroke_snapshot_"+name, help, labels, nil)
	}
	return &snapshotCollector{
		live: live, confirmed: confirmed,
		revision: desc("revision", "Number of the catalogue's revision that is answered from.", "catalog"),
		parts:    desc("parts", "Parts in that revision, by kind.", "catalog", "kind"),
		stale:    desc("stale", "1 while the database is out of reach, so that a newer revision might exist."),
		age:      desc("age_seconds", "Time since the database last confirmed that this revision is the newest."),
	}
}

// Describe implements prometheus.Collector.
func (s *snapshotCollector) Describe(descs chan<- *prometheus.Desc) {
	descs <- s.revision
	descs <- s.parts
	descs <- s.stale
	descs <- s.age
}

// Collect implements prometheus.Collector. Before the first snapshot there is
// nothing but stale.
func (s *snapshotCollector) Collect(out chan<- prometheus.Metric) {
	gauge := func(desc *prometheus.Desc, value float64, labels ...string) {
		out <- prometheus.MustNewConstMetric(desc, prometheus.GaugeValue, value, labels...)
	}
	stale := 0.0
	if s.live.Stale() {
		stale = 1
	}
	gauge(s.stale, stale)
	snapshot := s.live.Load()
	if snapshot == nil {
		return
	}
	name := snapshot.Name()
	gauge(s.revision, float64(snapshot.Revision()), name)
	gauge(s.parts, float64(len(snapshot.Dampers())), name, "damper")
	gauge(s.parts, float64(len(snapshot.Sleeves())), name, "sleeve")
	gauge(s.parts, float64(len(snapshot.Spacers())), name, "spacer")
	gauge(s.parts, float64(len(snapshot.Adapters())), name, "adapter")
	if s.confirmed != nil {
		if at := s.confirmed(); !at.IsZero() {
			gauge(s.age, time.Since(at).Seconds())
		}
	}
}
