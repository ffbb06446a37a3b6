package httpapi

import (
	"github.com/prometheus/client_golang/prometheus"

	"midstroke/internal/limit"
)

// workCollector tells of the work at the moment of asking, and of what was
// turned away.
type workCollector struct {
	limits *limiter

	running, waiting, shed, refused *prometheus.Desc
}

func newWorkCollector(limits *limiter) *workCollector {
	desc := func(name, help string, labels ...string) *prometheus.Desc {
		return prometheus.NewDesc("midstroke_"+name, help, labels, nil)
	}
	return &workCollector{
		limits:  limits,
		running: desc("work_running", "Answers and files that are being worked on, by lane.", "lane"),
		waiting: desc("work_waiting_cost", "Cost of the work that waits for its turn, by lane; an ordinary answer costs 1.", "lane"),
		shed:    desc("work_shed_total", "Requests turned away because too much work waited, by lane.", "lane"),
		refused: desc("rate_refused_total", "Requests turned away because a caller had used up its rate, by the kind of rate.", "rate"),
	}
}

// Describe implements prometheus.Collector.
func (w *workCollector) Describe(descs chan<- *prometheus.Desc) {
	descs <- w.running
	descs <- w.waiting
	descs <- w.shed
	descs <- w.refused
}

// Collect implements prometheus.Collector.
func (w *workCollector) Collect(out chan<- prometheus.Metric) {
	for i, turns := range w.limits.turns {
		state := turns.State()
		out <- prometheus.MustNewConstMetric(w.running, prometheus.GaugeValue, float64(state.Running), laneNames[i])
		out <- prometheus.MustNewConstMetric(w.waiting, prometheus.GaugeValue, float64(state.Waiting), laneNames[i])
		out <- prometheus.MustNewConstMetric(w.shed, prometheus.CounterValue, float64(state.Shed), laneNames[i])
	}
	for name, rates := range map[string]*limit.Rates{
		rateAddress: w.limits.address, rateWidgetKey: w.limits.widgetKey, rateServerKey: w.limits.serverKey,
	} {
		if rates != nil {
			out <- prometheus.MustNewConstMetric(w.refused, prometheus.CounterValue, float64(rates.Shed()), name)
		}
	}
}
