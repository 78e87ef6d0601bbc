package watch

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus/testutil"

	"footing/bot"
	"footing/store"
)

// queue is a database that says what the test wants.
type queue struct {
	waiting store.Waiting
	err     error
}

func (q *queue) Waiting(context.Context, time.Time) (store.Waiting, error) { return q.waiting, q.err }

// rig is a watch with a clock of the test's own.
type rig struct {
	*Watch
	db  *queue
	now time.Time
}

func newRig() *rig {
	r := &rig{db: &queue{waiting: store.Waiting{Count: map[string]int{"alert": 0, "reply": 3}}}, now: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)}
	r.Watch = New(r.db, func() time.Time { return r.now })
	return r
}

func (r *rig) get(t *testing.T, path string) (int, string) {
	t.Helper()
	rec := httptest.NewRecorder()
	r.Handler().ServeHTTP(rec, httptest.NewRequestWithContext(t.Context(), http.MethodGet, path, nil))
	return rec.Code, rec.Body.String()
}

// Each fault alone makes a 503 with its own line, right after its limit and not at it.
func TestHealth(t *testing.T) {
	for _, c := range []struct {
		name, says string
		do         func(*rig)
	}{
		{"all well", "", func(*rig) {}},
		{"database", "The database does not answer.", func(r *rig) { r.db.err = errors.New("with words of Mere Tau") }},
		{"gateway not up yet", "The gateway to Discord is not connected.", func(r *rig) { r.Lead(1) }},
		{"gateway up", "", func(r *rig) { r.Lead(1); r.Connected(1) }},
		{"gateway lost", "The gateway to Discord is not connected.", func(r *rig) { r.Lead(1); r.Connected(1); r.Connected(-1) }},
		{"one of two shards", "The gateway to Discord is not connected.", func(r *rig) { r.Lead(1); r.Lead(1); r.Connected(1) }},
		{"another leads", "", func(r *rig) { r.Lead(1); r.Connected(1); r.Connected(-1); r.Lead(-1) }},
		{"clock at 2 min", "", func(r *rig) { r.now = r.now.Add(2 * time.Minute) }},
		{"clock after 2 min", "Nobody has looked for what is due for 2m1s.", func(r *rig) { r.now = r.now.Add(2*time.Minute + time.Second); r.Turned() }},
		{"workers after 2 min", "No worker has looked for messages to send for 2m1s.", func(r *rig) { r.now = r.now.Add(2*time.Minute + time.Second); r.Looked(true) }},
		{"due for 10 min", "", func(r *rig) { r.db.waiting.Oldest = 10 * time.Minute }},
		{"due for longer", "A message has been due for 10m1s and is not sent.", func(r *rig) { r.db.waiting.Oldest = 10*time.Minute + time.Second }},
	} {
		r := newRig()
		c.do(r)
		wantCode, want := http.StatusOK, "ok\n"
		if c.says != "" {
			wantCode, want = http.StatusServiceUnavailable, c.says+"\n"
		}
		if code, text := r.get(t, "/health"); code != wantCode || text != want {
			t.Errorf("%s: %d %q, want %d %q", c.name, code, text, wantCode, want)
		}
		_, metrics := r.get(t, "/metrics")
		if well := strings.Contains(metrics, "\nfooting_healthy 1\n"); well != (c.says == "") {
			t.Errorf("%s: footing_healthy does not agree", c.name)
		}
	}
}

// feed tells a watch everything once, with words that no label may take.
func feed(r *rig, text string) {
	r.Event(bot.Kind(text), text, time.Second)
	for _, outcome := range bot.Outcomes {
		r.Event(bot.Created, outcome, time.Second)
	}
	r.Tried(bot.Try{Kind: text, Why: text, Dead: true, Again: true})
	r.Tried(bot.Try{Kind: "alert", Took: time.Second, Late: time.Minute})
	r.Occurred(text, text)
	r.Occurred("report", "sent")
	r.Looked(false)
	r.Looked(true)
	r.Turned()
	r.Busy(1)
	r.Panicked(text)
	r.Lead(1)
	r.Connected(1)
	r.Answered(429)
	r.Answered(0)
	r.Answered(99999)
}

// A label never takes a text: what is not a word of ours is "other".
func TestNoLabelTakesAText(t *testing.T) {
	r := newRig()
	r.db.err = errors.New("Mere Tau")
	feed(r, "Mere Tau")
	_, text := r.get(t, "/metrics")
	if strings.Contains(text, "Mere") {
		t.Error("a label holds a text")
	}
	for _, want := range []string{`footing_events_total{kind="other",outcome="other"} 1`, `footing_events_total{kind="created",outcome="busy"} 1`,
		`footing_send_failures_total{kind="notice",why="other"} 1`, `footing_dead_letters_total{kind="notice",why="other"} 1`, `footing_send_retries_total{kind="notice"} 1`,
		`footing_sends_total{kind="alert"} 1`, `footing_delivery_seconds_sum{kind="alert"} 60`, `footing_occurrences_total{kind="report",outcome="sent"} 1`,
		`footing_panics_total{place="other"} 1`, `footing_discord_answers_total{status="429"} 1`, `footing_discord_answers_total{status="none"} 2`,
		`footing_workers_busy 1`, `footing_gateway_opened_total 1`, `footing_gateways_connected 1`, `footing_gateways_leading 1`, `footing_clock_looks_total{outcome="failed"} 1`, `footing_database_up 0`} {
		if !strings.Contains(text, want+"\n") {
			t.Errorf("%s is not in the metrics", want)
		}
	}
	if strings.Contains(text, "footing_outbox_waiting") {
		t.Error("a queue nobody could look at is shown as if it were known")
	}
}

// Names and types follow Prometheus's own guidelines, as its linter (promlint of client_golang) reads them.
func TestMetricsFollowTheGuidelines(t *testing.T) {
	r := newRig()
	feed(r, "x")
	problems, err := testutil.GatherAndLint(r.registry)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range problems {
		if strings.HasPrefix(p.Metric, "footing_") {
			t.Errorf("%s: %s", p.Metric, p.Text)
		}
	}
}

// The README's table lists every metric, with its labels, and no other.
func TestTheReadmeListsEveryMetric(t *testing.T) {
	r := newRig()
	feed(r, "x")
	families, err := r.registry.Gather()
	if err != nil {
		t.Fatal(err)
	}
	var have []string
	for _, f := range families {
		var labels []string
		for _, l := range f.GetMetric()[0].GetLabel() {
			labels = append(labels, l.GetName())
		}
		name := f.GetName()
		if len(labels) > 0 {
			name += "{" + strings.Join(labels, ",") + "}"
		}
		if strings.HasPrefix(name, "footing_") {
			have = append(have, name)
		}
	}
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	var listed []string
	for _, m := range regexp.MustCompile("(?m)^\\| `(footing_[a-z_]+(?:\\{[a-z,]+\\})?)` \\|").FindAllStringSubmatch(string(readme), -1) {
		listed = append(listed, m[1])
	}
	slices.Sort(have)
	slices.Sort(listed)
	if !slices.Equal(have, listed) {
		t.Errorf("the README lists\n%s\nbut there are\n%s", strings.Join(listed, "\n"), strings.Join(have, "\n"))
	}
}

// Only this machine may ask, unless that is said. Addresses of other machines are from RFC 5737 and RFC 3849.
func TestListen(t *testing.T) {
	for _, a := range []string{"0.0.0.0:0", ":0", "[::]:0", "192.0.2.1:9120", "[2001:db8::1]:9120"} {
		if l, err := Listen(t.Context(), a, false); !errors.Is(err, ErrOpen) {
			t.Errorf("%s: %v %v", a, l, err)
		}
	}
	for _, a := range []string{"nonsense", "127.0.0.1", "127.0.0.1:port", "127.0.0.1:99999"} {
		if _, err := Listen(t.Context(), a, true); err == nil || !strings.Contains(err.Error(), "127.0.0.1:9120") {
			t.Errorf("%s: %v", a, err)
		}
	}
	for a, openly := range map[string]bool{"127.0.0.1:0": false, "localhost:0": false, "0.0.0.0:0": true} {
		l, err := Listen(t.Context(), a, openly)
		if err != nil {
			t.Errorf("%s: %v", a, err)
			continue
		}
		_ = l.Close()
	}
}

// What is served is what is asked for, and it ends with the process.
func TestServe(t *testing.T) {
	r := newRig()
	l, err := Listen(t.Context(), "127.0.0.1:0", false)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error)
	go func() { ended <- r.Serve(ctx, l) }()
	for path, want := range map[string]int{"/health": 200, "/metrics": 200, "/": 404, "/debug/pprof/": 404} {
		req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, fmt.Sprintf("http://%s%s", l.Addr(), path), nil)
		if err != nil {
			t.Fatal(err)
		}
		res, err := http.DefaultClient.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		_, _ = io.Copy(io.Discard, res.Body)
		_ = res.Body.Close()
		if res.StatusCode != want {
			t.Errorf("%s: %d", path, res.StatusCode)
		}
	}
	cancel()
	if err := <-ended; err != nil {
		t.Error(err)
	}
}
