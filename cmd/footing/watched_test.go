package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/bwmarrin/discordgo"

	"footing/bot"
	"footing/bot/discord"
	"footing/bot/discord/discordtest"
	"footing/bot/watch"
	"footing/rehab"
	"footing/store"
	"footing/store/storetest"
)

// quoting is a way to Discord that can answer a request with what the request said, fail with it, or panic
// with it.
type quoting struct {
	next http.RoundTripper
	mu   sync.Mutex
	plan []quote
}

type quote struct {
	method, path string // what the path holds
	status       int    // 0 for a lost connection, -1 for a panic
	code         int
}

func (q *quoting) order(list ...quote) {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.plan = append(q.plan, list...)
}

func (q *quoting) forget() {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.plan = nil
}

func (q *quoting) left() int {
	q.mu.Lock()
	defer q.mu.Unlock()
	return len(q.plan)
}

func (q *quoting) take(r *http.Request) (quote, bool) {
	q.mu.Lock()
	defer q.mu.Unlock()
	for i, o := range q.plan {
		if o.method == r.Method && strings.Contains(r.URL.Path, o.path) {
			q.plan = append(q.plan[:i:i], q.plan[i+1:]...)
			return o, true
		}
	}
	return quote{}, false
}

func (q *quoting) RoundTrip(r *http.Request) (*http.Response, error) {
	o, hit := q.take(r)
	if !hit {
		return q.next.RoundTrip(r)
	}
	said := []byte(cTyped)
	if r.Body != nil {
		body, err := io.ReadAll(r.Body)
		if err != nil {
			return nil, err
		}
		said = append(said, body...)
	}
	switch o.status {
	case 0:
		return nil, errors.New("connection reset") // the library adds the address, and with it an interaction's token
	case -1:
		panic(string(said))
	}
	text := fmt.Sprintf(`{"message": %q, "code": %d, "retry_after": 0.01, "errors": {"content": {"_errors": [{"message": %q}]}}}`, said, o.code, said)
	return &http.Response{
		StatusCode: o.status, Status: fmt.Sprintf("%d %s %s", o.status, http.StatusText(o.status), cTyped), Proto: "HTTP/1.1", ProtoMajor: 1, ProtoMinor: 1,
		Header: http.Header{"Content-Type": {"application/json"}, "X-Canary": {cTyped}}, Body: io.NopCloser(strings.NewReader(text)), Request: r,
	}, nil
}

// log is where the process logs to.
type log struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (l *log) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.Write(p)
}

func (l *log) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.String()
}

// watched is a serving process over the stand-in, wired as serve does it, with all that can go wrong.
type watched struct {
	t              *testing.T
	w              *discordtest.World
	g              *discordtest.Guild
	medical, staff *discordtest.Channel
	public         *discordtest.Channel
	medic          *discordtest.Role
	sam, mez, x    *discordtest.User
	way            *quoting
	config         store.Config
	store          *store.Store
	a              *discord.Adapter
	b              *bot.Bot
	log            log
	base           string // of /health and /metrics
	said           []string
	errs           []error
	badClock       atomic.Bool  // looking at the clock panics
	badStep        atomic.Value // the step that panics
	stop           func()
}

func (c *watched) now() time.Time {
	if c.badClock.Load() {
		panic("a clock that knows of " + cPanic)
	}
	return c.w.Now()
}

func (c *watched) step(name string) {
	if name == c.badStep.Load() {
		panic(fmt.Errorf("a step that knows of %s", cPanic))
	}
}

func openWatched(t *testing.T, db store.Config, format string) *watched {
	t.Helper()
	t.Parallel()
	w := discordtest.New(t)
	w.Allow(int(discordgo.IntentMessageContent))
	c := &watched{t: t, w: w, g: w.Guild(cGuild), config: db, store: storetest.Open(t, db), way: &quoting{next: w.Transport()}}
	c.badStep.Store("")
	c.medic = c.g.Role(cRole)
	c.medical = c.g.PrivateChannel(cRoom, c.medic, c.g.BotRole())
	c.staff = c.g.PrivateChannel(cRoom+"-staff", c.medic, c.g.BotRole())
	c.public = c.g.Channel(cRoom + "-open")
	c.sam, c.mez, c.x = c.g.Member(cMedic, c.medic), c.g.Member(cAthlete), c.g.Member(cStranger)
	c.start(format, true)
	c.stop()
	return c.start(format, false)
}

// start starts the process; with a bad start its clock panics at first and its commands are refused.
func (c *watched) start(format string, bad bool) *watched {
	c.t.Helper()
	t := c.t
	logger := watchFlags{LogFormat: format, LogLevel: -4}.log(&c.log)
	watching := watch.New(c.store, c.w.Now)
	ctx, cancel := context.WithCancel(context.Background())
	l, err := watch.Listen(ctx, "127.0.0.1:0", false)
	c.must(err)
	c.base = "http://" + l.Addr().String()
	c.a, err = discord.New(discord.Config{Token: strings.TrimPrefix(c.w.Token(), "Bot "), Content: true, Transport: c.way, Log: logger, Meter: watching, Clock: c.w.Now})
	c.must(err)
	c.b, err = bot.New(t.Context(), bot.Config{Store: c.store, Front: c.a, Clock: c.now, Log: logger, Meter: watching, Step: c.step})
	c.must(err)
	_, err = c.b.PutTeam(t.Context(), rehab.Team{Key: c.g.ID, Name: cTeam, Zone: "Pacific/Auckland", ReportAt: "07:30",
		Rooms: rehab.Rooms{MedicalRoles: []string{c.medic.ID}, Medical: c.medical.ID, Staff: c.staff.ID}})
	c.must(err)
	if bad {
		c.badClock.Store(true) // from the first look on
		c.way.order(quote{"PUT", "/commands", 400, 50035})
	}
	ended := make(chan error, 2)
	go func() { ended <- watching.Serve(ctx, l) }()
	go func() { ended <- work(ctx, leadEvery, c.store, c.a, c.b, watching) }()
	c.stop = sync.OnceFunc(func() {
		cancel()
		for range 2 {
			c.errs = append(c.errs, <-ended)
		}
	})
	t.Cleanup(c.stop)
	c.wait("panics of the clock and a worker", func() bool {
		return !bad || c.count(`footing_panics_total{place="clock"}`) > 0 && c.count(`footing_panics_total{place="worker"}`) > 0
	})
	c.badClock.Store(false)
	<-c.a.Up()
	c.wait("the server", func() bool { return bad || c.w.Gateway().Connected() && len(c.w.Commands(nil)) > 0 })
	return c
}

func (c *watched) must(err error) {
	c.t.Helper()
	if err != nil {
		c.t.Fatal(err)
	}
}

// wait waits for a condition, not for a time.
func (c *watched) wait(what string, holds func() bool) {
	c.t.Helper()
	for late := time.Now().Add(3 * discordtest.Patience); !holds(); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(late) {
			c.t.Fatalf("%s did not come; the log:\n%s", what, c.log.String())
		}
	}
}

func (c *watched) get(path string) (int, string) {
	c.t.Helper()
	r, err := http.NewRequestWithContext(c.t.Context(), http.MethodGet, c.base+path, nil)
	c.must(err)
	res, err := (&http.Client{Transport: &http.Transport{DisableKeepAlives: true}}).Do(r)
	c.must(err)
	defer func() { _ = res.Body.Close() }()
	text, err := io.ReadAll(res.Body)
	c.must(err)
	c.said = append(c.said, string(text))
	return res.StatusCode, string(text)
}

// count is the value of one series.
func (c *watched) count(series string) float64 {
	c.t.Helper()
	_, text := c.get("/metrics")
	for line := range strings.Lines(text) {
		if value, ok := strings.CutPrefix(line, series+" "); ok {
			n, err := strconv.ParseFloat(strings.TrimSpace(value), 64)
			c.must(err)
			return n
		}
	}
	return 0
}

// answered waits until the bot has said more in a channel.
func (c *watched) answered(ch *discordtest.Channel, do func()) discordtest.Message {
	c.t.Helper()
	old := map[string]bool{}
	for _, m := range ch.Messages() {
		old[m.ID] = true
	}
	do()
	var found discordtest.Message
	c.w.Wait("an answer", func() bool {
		for _, m := range ch.Messages() {
			if m.Author == c.w.Bot().Name && !old[m.ID] && !m.Thinking {
				found = m
				return true
			}
		}
		return false
	})
	return found
}

func (c *watched) line(text string) discordtest.Message {
	c.t.Helper()
	return c.answered(c.medical, func() { c.sam.Says(c.medical, text) })
}

func (c *watched) final(i *discordtest.Interaction) discordtest.Message {
	c.t.Helper()
	var m discordtest.Message
	c.w.Wait("the answer to an interaction", func() bool {
		got, ok := i.Answer()
		m = got
		return ok && !got.Thinking
	})
	return m
}
