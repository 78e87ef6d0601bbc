package discordtest

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// token is what the bot signs in with; it is no secret and opens nothing.
const token = "stand-in"

// Patience is how long Wait waits for what it was told to wait for, in real time.
const Patience = 10 * time.Second

// World is one Discord with one bot in it. Its methods may be called from any goroutine, but those that
// fail the test (Wait, and everything a User does) only from the test's own.
type World struct {
	t testing.TB

	mu      sync.Mutex // guards everything below, and every object of the world
	changed chan struct{}
	now     time.Time
	lastID  uint64

	appID        string
	bot          *User
	privileged   int // privileged intents switched on for the app
	users        map[string]*User
	guilds       []*Guild
	channels     map[string]*Channel
	commands     map[string][]*command // by guild id; "" holds the global ones
	interactions map[string]*Interaction
	nonces       map[string]nonce
	pings        []Ping
	blobs        map[string]File // attachments by path, for the content delivery host

	gateway  *Gateway
	limits   limits
	faults   []*fault
	requests []Request
	invalid  int
	held     int // requests that wait to be let go
	keep     int // messages of a channel; 0 when nothing is forgotten
	tap      atomic.Pointer[Tap]

	server *httptest.Server
	client *http.Transport
	closed chan struct{}
}

// New starts a stand-in with a bot that is in no guild yet and has no privileged intent. It is stopped when
// the test ends.
func New(t testing.TB) *World {
	w := &World{
		t: t, changed: make(chan struct{}), closed: make(chan struct{}),
		now:   time.Date(2026, time.March, 2, 9, 0, 0, 0, time.UTC),
		users: map[string]*User{}, channels: map[string]*Channel{}, commands: map[string][]*command{},
		interactions: map[string]*Interaction{}, nonces: map[string]nonce{}, blobs: map[string]File{},
	}
	w.limits.buckets = map[string]*bucket{}
	w.limits.routes = map[string]limit{}
	w.gateway = newGateway(w)
	w.appID = w.id()
	w.bot = &User{w: w, ID: w.appID, Name: "footing", bot: true}
	w.users[w.bot.ID] = w.bot
	w.server = httptest.NewServer(w.routes())
	w.client = &http.Transport{MaxIdleConnsPerHost: 100} // kept as HTTP/2, which Discord speaks, would keep its one
	t.Cleanup(w.close)
	return w
}

// close ends every connection and waits for the goroutines behind them.
func (w *World) close() {
	close(w.closed)
	w.gateway.shut()
	w.client.CloseIdleConnections()
	w.server.Close()
}

// Token is what the bot signs in with, "Bot " included.
func (w *World) Token() string { return "Bot " + token }

// AppID is the application's id, which is also the bot's user id.
func (w *World) AppID() string { return w.appID }

// Bot is the bot as a user, to mention it or to write overwrites for it.
func (w *World) Bot() *User { return w.bot }

// Allow switches the app's privileged intents on (discordgo.IntentMessageContent, IntentGuildMembers,
// IntentGuildPresences), in place of those switched on before. Gateway connections keep what they have.
func (w *World) Allow(intents int) {
	w.change(func() { w.privileged = intents & privilegedIntents })
}

// Now is the world's time, UTC.
func (w *World) Now() time.Time {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.now
}

// SetClock moves the world's clock to an instant that is not before its own.
func (w *World) SetClock(now time.Time) {
	w.change(func() {
		if now.After(w.now) {
			w.now = now.UTC()
		}
	})
}

// Advance moves the world's clock on.
func (w *World) Advance(d time.Duration) { w.SetClock(w.Now().Add(d)) }

// change runs f with the world held and wakes everyone who waits.
func (w *World) change(f func()) {
	w.mu.Lock()
	defer w.mu.Unlock()
	f()
	w.notify()
}

// read runs f with the world held.
func (w *World) read(f func()) {
	w.mu.Lock()
	defer w.mu.Unlock()
	f()
}

func (w *World) notify() {
	close(w.changed)
	w.changed = make(chan struct{})
}

// Notify wakes Wait, for conditions that look at something outside the world.
func (w *World) Notify() { w.change(func() {}) }

// Wait returns as soon as cond holds. It asks again whenever the world changes, never by the clock, and
// fails the test after Patience. what says what is waited for; cond may call any reading method.
func (w *World) Wait(what string, cond func() bool) {
	w.t.Helper()
	deadline := time.NewTimer(Patience)
	defer deadline.Stop()
	for {
		w.mu.Lock()
		changed := w.changed
		w.mu.Unlock()
		if cond() {
			return
		}
		select {
		case <-changed:
		case <-deadline.C:
			w.t.Fatalf("waited %s for %s; last requests:\n%s", Patience, what, w.recent())
		}
	}
}

// recent is the end of the request log.
func (w *World) recent() string {
	requests := w.Requests()
	if len(requests) > 12 {
		requests = requests[len(requests)-12:]
	}
	var b strings.Builder
	for _, r := range requests {
		fmt.Fprintln(&b, " ", r)
	}
	return b.String()
}

// id makes the next snowflake (API Reference, Snowflakes): milliseconds since 2015 above 22 bits that count.
func (w *World) id() string {
	id := uint64(w.now.UnixMilli()-discordEpoch) << 22
	if id <= w.lastID {
		id = w.lastID + 1
	}
	w.lastID = id
	return strconv.FormatUint(id, 10)
}

const discordEpoch = 1420070400000

// mistake fails a test that asks for what nobody could do.
func (w *World) mistake(format string, args ...any) {
	w.t.Helper()
	w.t.Fatalf("discordtest: "+format, args...)
}

// stamp is a time as Discord writes it (API Reference, ISO8601 date/time).
func stamp(t time.Time) string { return t.Format("2006-01-02T15:04:05.000000-07:00") }
