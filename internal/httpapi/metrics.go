package httpapi

import (
	"net/http"
	"strconv"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"midstroke/internal/library"
)

// metrics counts and times what is served.
type metrics struct {
	registry  *prometheus.Registry
	requests  *prometheus.CounterVec
	durations *prometheus.HistogramVec
	// known are the handles of what was served already. To look one up costs more
	// than to count.
	known sync.Map // servedKey → *served
}

// servedKey is what requests are counted by.
type servedKey struct {
	route, method string
	status        int
}

// served is where requests of one key are counted.
type served struct {
	requests  prometheus.Counter
	durations prometheus.Observer
}

// newMetrics registers everything that /metrics shows.
func newMetrics(c *Config, limits *limiter) *metrics {
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
		newSnapshotCollector(c.Library, c.Catalog, c.Confirmed),
		newWorkCollector(limits),
		collectors.NewGoCollector(),
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	m.registry.MustRegister(c.Collectors...)
	if c.LostLines != nil {
		m.registry.MustRegister(prometheus.NewCounterFunc(prometheus.CounterOpts{
			Name: "midstroke_log_lines_lost_total",
			Help: "Lines of the log that were lost, because it wasn't read fast enough or couldn't be written.",
		}, func() float64 { return float64(c.LostLines()) }))
	}
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
	key := servedKey{route, method, status}
	of, ok := m.known.Load(key)
	if !ok {
		code := strconv.Itoa(status)
		of, _ = m.known.LoadOrStore(key, &served{m.requests.WithLabelValues(route, method, code), m.durations.WithLabelValues(route, code)})
	}
	counted := of.(*served)
	counted.requests.Inc()
	counted.durations.Observe(took.Seconds())
}

// handler writes the metrics in the text format of Prometheus.
func (m *metrics) handler() http.Handler {
	return promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{})
}

// snapshotCollector tells of the snapshots held at the moment of asking. Only
// the catalogue that is open to all is told of by name, and other shops by number.
type snapshotCollector struct {
	library   *library.Library
	open      string
	confirmed func() time.Time

	revision, parts, stale, age, catalogs, held, bytes, ceiling *prometheus.Desc
	shopHeld, shopBehind, shopAge                               *prometheus.Desc
}

func newSnapshotCollector(of *library.Library, open string, confirmed func() time.Time) *snapshotCollector {
	desc := func(name, help string, labels ...string) *prometheus.Desc {
		return prometheus.NewDesc("midstroke_snapshot_"+name, help, labels, nil)
	}
	return &snapshotCollector{
		library: of, open: open, confirmed: confirmed,
		revision: desc("revision", "Number of the open catalogue's revision that is answered from.", "catalog"),
		parts:    desc("parts", "Parts in that revision, by kind.", "catalog", "kind"),
		stale:    desc("stale", "1 while the database is out of reach, so that a newer revision might exist."),
		age:      desc("age_seconds", "Time since the database last confirmed which revisions are the newest."),
		catalogs: desc("catalogs", "Published catalogues of all shops, loaded or not."),
		held:     desc("held", "Snapshots in memory."),
		bytes:    desc("bytes", "Memory that these snapshots take, as estimated."),
		ceiling:  desc("ceiling_bytes", "Ceiling of that memory; 0 for none."),
		// Shops are told apart by number, since their names are their own business.
		shopHeld:   desc("shop_held", "Newest revisions in memory, by the number of their shop.", "shop"),
		shopBehind: desc("shop_behind", "Of these, how many have a newer revision that isn't loaded yet.", "shop"),
		shopAge:    desc("shop_age_seconds", "Time since the one of these that was loaded first.", "shop"),
	}
}

// Describe implements prometheus.Collector.
func (s *snapshotCollector) Describe(descs chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{
		s.revision, s.parts, s.stale, s.age, s.catalogs, s.held, s.bytes, s.ceiling, s.shopHeld, s.shopBehind, s.shopAge,
	} {
		descs <- d
	}
}

// Collect implements prometheus.Collector.
func (s *snapshotCollector) Collect(out chan<- prometheus.Metric) {
	gauge := func(desc *prometheus.Desc, value float64, labels ...string) {
		out <- prometheus.MustNewConstMetric(desc, prometheus.GaugeValue, value, labels...)
	}
	stale := 0.0
	if s.library.Stale() {
		stale = 1
	}
	gauge(s.stale, stale)
	memory := s.library.Memory()
	gauge(s.catalogs, float64(memory.Catalogs))
	gauge(s.held, float64(memory.Snapshots))
	gauge(s.bytes, float64(memory.Bytes))
	gauge(s.ceiling, float64(memory.Ceiling))
	for _, of := range s.library.Shops() {
		number := strconv.FormatInt(of.Number, 10)
		gauge(s.shopHeld, float64(of.Loaded), number)
		gauge(s.shopBehind, float64(of.Behind), number)
		gauge(s.shopAge, time.Since(of.Oldest).Seconds(), number)
	}
	now, ok := s.library.Loaded(s.open)
	if !ok {
		return
	}
	snapshot := now.Snapshot
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
