package watch

import (
	"context"
	"slices"
	"strconv"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"

	"footing/bot"
	"footing/rehab"
	"footing/store"
)

// The words that a label may hold. Whatever else comes is "other": a label never takes a text on trust.
var (
	kinds    = store.Kinds
	events   = []string{string(bot.Created), string(bot.Edited), string(bot.Deleted), string(bot.Pressed)}
	reasons  = []string{"failed", "busy", "closed", "gone", "forbidden", "refused", "expired", "tried", "unreadable", "no room"}
	outcomes = bot.Occurrences
	things   = rehab.Unasked
)

func word(of []string, says string) string {
	if slices.Contains(of, says) {
		return says
	}
	return "other"
}

// kind is a message's kind; what is none of store.Kinds is a kind of notice.
func kind(says string) string {
	if slices.Contains(kinds, says) {
		return says
	}
	return "notice"
}

// metrics are the numbers that only grow, and what is told from one moment to the next.
type metrics struct {
	registry *prometheus.Registry

	events      *prometheus.CounterVec
	eventTime   *prometheus.HistogramVec
	sends       *prometheus.CounterVec
	failures    *prometheus.CounterVec
	retries     *prometheus.CounterVec
	dead        *prometheus.CounterVec
	sendTime    *prometheus.HistogramVec
	late        *prometheus.HistogramVec
	occurrences *prometheus.CounterVec
	looks       *prometheus.CounterVec
	panics      *prometheus.CounterVec
	answers     *prometheus.CounterVec
	opened      prometheus.Counter
	busy        prometheus.Gauge
}

// Buckets in seconds: of what the machine and the network do, and of how long somebody waits.
var (
	quick = []float64{.005, .01, .025, .05, .1, .25, .5, 1, 2.5, 5, 10, 20}
	waits = []float64{.1, .25, .5, 1, 2.5, 5, 10, 30, 60, 300, 900, 3600, 4 * 3600, 24 * 3600}
)

func newMetrics() *metrics {
	m := &metrics{
		registry:    prometheus.NewRegistry(),
		events:      counters("events_total", "Events of the chat, by how they ended.", "kind", "outcome"),
		eventTime:   histogram("event_seconds", "Time to handle an event, its answers included.", quick, "kind"),
		sends:       counters("sends_total", "Messages sent.", "kind"),
		failures:    counters("send_failures_total", "Tries to send that did not work, by the reason's word.", "kind", "why"),
		retries:     counters("send_retries_total", "Tries to send what was tried before.", "kind"),
		dead:        counters("dead_letters_total", "Messages given up, by the reason's word.", "kind", "why"),
		sendTime:    histogram("send_seconds", "Time Discord took for a message that was sent.", quick, "kind"),
		late:        histogram("delivery_seconds", "Time from when a message was first due until it was sent.", waits, "kind"),
		occurrences: counters("occurrences_total", "Scheduled things written, or missed.", "kind", "outcome"),
		looks:       counters("clock_looks_total", "Looks for what is due.", "outcome"),
		panics:      counters("panics_total", "Panics caught.", "place"),
		answers:     counters("discord_answers_total", "HTTP answers of Discord by status; none when there was no answer. 429 is a limit hit.", "status"),
		opened:      prometheus.NewCounter(prometheus.CounterOpts{Namespace: "footing", Name: "gateway_opened_total", Help: "Gateway connections made; all but the first are reconnects."}),
		busy:        prometheus.NewGauge(prometheus.GaugeOpts{Namespace: "footing", Name: "workers_busy", Help: "Workers that are sending."}),
	}
	m.register(m.events, m.eventTime, m.sends, m.failures, m.retries, m.dead, m.sendTime, m.late, m.occurrences, m.looks, m.panics, m.answers, m.opened, m.busy,
		collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	m.begin()
	return m
}

// register adds collectors to this process's own registry. Two of one name are a mistake in this file.
func (m *metrics) register(list ...prometheus.Collector) { m.registry.MustRegister(list...) }

// begin makes the series an alarm would watch be there at 0, so that their first step counts.
func (m *metrics) begin() {
	for _, place := range bot.Guards {
		m.panics.WithLabelValues(place)
	}
	for _, k := range kinds {
		m.sends.WithLabelValues(k)
		for _, why := range reasons {
			m.dead.WithLabelValues(k, why)
		}
	}
}

func counters(name, help string, labels ...string) *prometheus.CounterVec {
	return prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: "footing", Name: name, Help: help}, labels)
}

func histogram(name, help string, buckets []float64, labels ...string) *prometheus.HistogramVec {
	return prometheus.NewHistogramVec(prometheus.HistogramOpts{Namespace: "footing", Name: name, Help: help, Buckets: buckets}, labels)
}

// Event implements bot.Meter.
func (m *metrics) Event(k bot.Kind, outcome string, took time.Duration) {
	m.events.WithLabelValues(word(events, string(k)), word(bot.Outcomes, outcome)).Inc()
	if outcome != "busy" {
		m.eventTime.WithLabelValues(word(events, string(k))).Observe(took.Seconds())
	}
}

// Tried implements bot.Meter.
func (m *metrics) Tried(t bot.Try) {
	k := kind(t.Kind)
	if t.Again {
		m.retries.WithLabelValues(k).Inc()
	}
	if t.Why == "" {
		m.sends.WithLabelValues(k).Inc()
		m.sendTime.WithLabelValues(k).Observe(t.Took.Seconds())
		m.late.WithLabelValues(k).Observe(t.Late.Seconds())
		return
	}
	m.failures.WithLabelValues(k, word(reasons, t.Why)).Inc()
	if t.Dead {
		m.dead.WithLabelValues(k, word(reasons, t.Why)).Inc()
	}
}

// Occurred implements bot.Meter.
func (m *metrics) Occurred(what, outcome string) {
	m.occurrences.WithLabelValues(word(things, what), word(outcomes, outcome)).Inc()
}

func (m *metrics) looked(failed bool) {
	outcome := "done"
	if failed {
		outcome = "failed"
	}
	m.looks.WithLabelValues(outcome).Inc()
}

// Busy implements bot.Meter.
func (m *metrics) Busy(by int) { m.busy.Add(float64(by)) }

// Panicked implements bot.Meter.
func (m *metrics) Panicked(where string) { m.panics.WithLabelValues(word(bot.Guards, where)).Inc() }

// Answered implements discord.Meter.
func (m *metrics) Answered(status int) {
	says := "none"
	if status >= 100 && status <= 599 {
		says = strconv.Itoa(status)
	}
	m.answers.WithLabelValues(says).Inc()
}

// collector gives what is asked for at the moment of looking.
type collector struct{ w *Watch }

func gauge(name, help string, labels ...string) *prometheus.Desc {
	return prometheus.NewDesc("footing_"+name, help, labels, nil)
}

var (
	waitingDesc   = gauge("outbox_waiting", "Messages still to be sent, due or not.", "kind")
	oldestDesc    = gauge("outbox_oldest_due_seconds", "How long the oldest due message has been due.")
	databaseDesc  = gauge("database_up", "Whether the database answers.")
	leadingDesc   = gauge("gateways_leading", "Gateway connections this process is to hold; 0 while it stands by.")
	connectedDesc = gauge("gateways_connected", "Gateway connections that are up.")
	healthyDesc   = gauge("healthy", "Whether nothing is wrong at /health.")
)

// Describe implements prometheus.Collector.
func (c collector) Describe(to chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{waitingDesc, oldestDesc, databaseDesc, leadingDesc, connectedDesc, healthyDesc} {
		to <- d
	}
}

// Collect implements prometheus.Collector.
func (c collector) Collect(to chan<- prometheus.Metric) {
	say := func(d *prometheus.Desc, value float64, labels ...string) {
		to <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, value, labels...)
	}
	s := c.w.look(context.Background())
	say(databaseDesc, truth(s.err == nil))
	say(healthyDesc, truth(len(s.faults) == 0))
	say(leadingDesc, float64(c.w.leading.Load()))
	say(connectedDesc, float64(c.w.connected.Load()))
	if s.err != nil {
		return // not known: no 0 that would look like an empty queue
	}
	say(oldestDesc, s.waiting.Oldest.Seconds())
	for k, n := range s.waiting.Count {
		say(waitingDesc, float64(n), k)
	}
}

func truth(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}
