package main

import (
	"github.com/prometheus/client_golang/prometheus"

	"midstroke/internal/postgres"
)

// poolCollector tells of the connections to the database, by the kind of work that
// they are for, at the moment of asking.
type poolCollector struct {
	store func() *postgres.Store // gives nil while there is none

	open, busy, most, waits, waited, givenUp *prometheus.Desc
}

func newPoolCollector(store func() *postgres.Store) *poolCollector {
	desc := func(name, help string) *prometheus.Desc {
		return prometheus.NewDesc("midstroke_pool_"+name, help, []string{"pool"}, nil)
	}
	return &poolCollector{
		store:   store,
		open:    desc("connections", "Connections to the database."),
		busy:    desc("connections_busy", "Connections that are in use."),
		most:    desc("connections_most", "Connections that there may be."),
		waits:   desc("waits_total", "Calls that had to wait for a connection."),
		waited:  desc("wait_seconds_total", "Time that these calls waited."),
		givenUp: desc("waits_given_up_total", "Calls that got no connection in time."),
	}
}

// Describe implements prometheus.Collector.
func (p *poolCollector) Describe(descs chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{p.open, p.busy, p.most, p.waits, p.waited, p.givenUp} {
		descs <- d
	}
}

// Collect implements prometheus.Collector.
func (p *poolCollector) Collect(out chan<- prometheus.Metric) {
	store := p.store()
	if store == nil {
		return
	}
	for _, now := range store.Pools() {
		gauge := func(d *prometheus.Desc, value int) {
			out <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, float64(value), now.Name)
		}
		counter := func(d *prometheus.Desc, value float64) {
			out <- prometheus.MustNewConstMetric(d, prometheus.CounterValue, value, now.Name)
		}
		gauge(p.open, now.Open)
		gauge(p.busy, now.Busy)
		gauge(p.most, now.Most)
		counter(p.waits, float64(now.Waits))
		counter(p.waited, now.Waited.Seconds())
		counter(p.givenUp, float64(now.GivenUp))
	}
}
