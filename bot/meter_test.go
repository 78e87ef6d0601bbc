package bot_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"footing/bot"
	"footing/store"
	"footing/store/storetest"
)

// tally is a meter that keeps what it was told, one word each.
type tally struct {
	mu   sync.Mutex
	told []string
}

func (m *tally) tell(parts ...any) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.told = append(m.told, strings.TrimSpace(fmt.Sprintln(parts...)))
}

func (m *tally) count(what string) (n int) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, told := range m.told {
		if told == what {
			n++
		}
	}
	return n
}

func (m *tally) Event(k bot.Kind, outcome string, _ time.Duration) { m.tell("event", k, outcome) }
func (m *tally) Tried(t bot.Try)                                   { m.tell("tried", t.Kind, t.Again, t.Why, t.Dead) }
func (m *tally) Occurred(what, outcome string)                     { m.tell("occurred", what, outcome) }
func (m *tally) Looked(failed bool)                                { m.tell("looked", failed) }
func (m *tally) Turned()                                           { m.tell("turned") }
func (m *tally) Busy(by int)                                       { m.tell("busy", by) }
func (m *tally) Panicked(where string)                             { m.tell("panicked", where) }

// metered is a rig whose bot tells a tally, with a clock and steps of the test's own.
func metered(t *testing.T, db store.Config, c bot.Config) (*rig, *tally) {
	t.Helper()
	r, m := newRig(t, db), &tally{}
	c.Store, c.Front, c.Meter = r.store, r.chat, m
	if c.Clock == nil {
		c.Clock = func() time.Time { return r.now }
	}
	if c.Log == nil {
		c.Log = slog.New(slog.NewTextHandler(io.Discard, nil))
	}
	b, err := bot.New(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	r.Bot = b
	return r, m
}

// What happens is told once, in kinds and fixed words.
func TestTheMeterIsTold(t *testing.T) {
	storetest.Each(t, func(t *testing.T, db store.Config) {
		var step func(string)
		r, m := metered(t, db, bot.Config{Step: func(name string) {
			if step != nil {
				step(name)
			}
		}})
		q := bot.NewQueue(t.Context(), r.Bot, 10)
		handle := func(in bot.Inbound) {
			q.Submit(in)
			q.Wait()
		}
		line := r.message("sprain 7 left")
		handle(line)
		handle(line)
		handle(r.message("wibble"))
		stranger := r.message("sprain 7 left")
		stranger.Team = "nobody's"
		handle(stranger)
		step = func(name string) {
			if name == "ran" {
				panic("a fault")
			}
		}
		handle(r.message("sprain 12 left"))
		step = nil
		if _, err := r.store.DB().Exec(`ALTER TABLE entries RENAME TO gone`); err == nil { // PostgreSQL's application may not
			handle(r.message("sprain 12 right"))
			if _, err := r.store.DB().Exec(`ALTER TABLE gone RENAME TO entries`); err != nil {
				t.Fatal(err)
			}
			same(t, "failed", m.count("event created failed"), 1)
		}
		for what, n := range map[string]int{
			"event created done": 2, "event created repeated": 1, "event created unknown": 1, "event created panicked": 1, "panicked event": 1, "tried reply false  false": 2,
		} {
			same(t, what, m.count(what), n)
		}
	})
}

// A send that fails, is tried again and given up is told as such; what occurs once counts once, however often
// it is looked for.
func TestTheMeterIsToldOfSendsAndOccurrences(t *testing.T) {
	storetest.Each(t, func(t *testing.T, db store.Config) {
		r, m := metered(t, db, bot.Config{})
		r.now = time.Date(2026, 3, 2, 18, 30, 0, 0, time.UTC) // 07:30 in Auckland
		for range 2 {
			if err := r.Schedule(t.Context()); err != nil {
				t.Fatal(err)
			}
		}
		same(t, "reports", m.count("occurred report sent"), 1)
		r.later(t, 0)
		r.now = r.now.Add(24*time.Hour + 3*time.Hour)
		if err := r.Schedule(t.Context()); err != nil {
			t.Fatal(err)
		}
		same(t, "missed reports", m.count("occurred report missed"), 1)
		r.later(t, 0)
		r.chat.fails = 1
		r.put(t, "alert", bot.MedicalRoom, "a")
		r.later(t, 0)
		r.later(t, time.Minute)
		r.chat.refuse = func(bot.Message) error { return &bot.NotSent{Why: "refused", Never: true} }
		r.put(t, "odd", bot.MedicalRoom, "o")
		r.later(t, 0)
		if n := m.count("busy 1"); n == 0 || n != m.count("busy -1") {
			t.Errorf("busy %d times", n)
		}
		for _, what := range []string{"tried alert false failed false", "tried alert true  false", "tried odd false refused true"} {
			same(t, what, m.count(what), 1)
		}
	})
}

// A panic of a worker and of the clock is counted and logged by where it came from, never by its value; both
// go on.
func TestPanicsOfWorkersAndClockAreContained(t *testing.T) {
	var logged bytes.Buffer
	var mu sync.Mutex
	bad, at := true, time.Date(2026, 3, 2, 18, 30, 0, 0, time.UTC)
	clock := func() time.Time {
		mu.Lock()
		defer mu.Unlock()
		pc := callers()
		if bad && (strings.Contains(pc, "(*Bot).turn") || strings.Contains(pc, "(*Bot).Schedule")) {
			panic(errors.New("a fault that knows Mere Tau"))
		}
		return at
	}
	r, m := metered(t, storetest.SQLite(t), bot.Config{Clock: clock, Log: slog.New(slog.NewTextHandler(&logged, nil))})
	r.chat.heard = make(chan struct{}, 100)
	ctx, cancel := context.WithCancel(t.Context())
	tick := make(chan time.Time)
	var parts sync.WaitGroup
	parts.Go(func() { r.Deliver(ctx, 2, tick) })
	parts.Go(func() {
		if err := r.Run(ctx); err != nil {
			t.Error(err)
		}
	})
	for m.count("panicked worker") == 0 || m.count("looked true") == 0 {
		select {
		case tick <- at:
		case <-time.After(time.Millisecond):
		}
	}
	mu.Lock()
	bad = false
	mu.Unlock()
	if err := r.Schedule(ctx); err != nil {
		t.Error(err)
	}
	tick <- at
	r.chat.await(t, "the report", func() bool { return len(r.chat.shown(bot.StaffRoom)) > 0 })
	cancel()
	parts.Wait()
	said := logged.String()
	for _, want := range []string{"msg=panicked where=worker type=*errors.errorString stack=\"bot_test.TestPanics", "msg=panicked where=clock type=*errors.errorString stack=\"bot_test.TestPanics", "bot.(*Bot).Schedule:", "bot.(*Bot).turn:"} {
		if !strings.Contains(said, want) {
			t.Errorf("%q is not in the log:\n%s", want, said)
		}
	}
	if strings.Contains(said, "Mere") {
		t.Errorf("the log holds what the panic said:\n%s", said)
	}
	if !slices.Contains(m.told, "turned") {
		t.Error("no worker was seen alive")
	}
}

// callers names the functions above.
func callers() string {
	pc := make([]uintptr, 32)
	frames := runtime.CallersFrames(pc[:runtime.Callers(2, pc)])
	var names strings.Builder
	for more := true; more; {
		var f runtime.Frame
		f, more = frames.Next()
		names.WriteString(f.Function + "\n")
	}
	return names.String()
}
