package watch

import (
	"context"
	"errors"
	"slices"
	"testing"
	"time"
)

// told is what systemd was told after each of some steps, each of which changes the world.
func told(t *testing.T, r *rig, steps ...func()) (out [][]string) {
	t.Helper()
	var now []string
	n := notifier{w: r.Watch, send: func(state string) error { now = append(now, state); return nil }, began: r.now}
	for _, do := range steps {
		now = nil
		do()
		n.tell(t.Context())
		out = append(out, now)
	}
	return out
}

// The states are those of sd_notify(3).
func TestNotify(t *testing.T) {
	r := newRig()
	r.Lead(1)
	got := told(t, r,
		func() {},
		func() { r.Connected(1) },
		func() {},
		func() { r.db.err = errors.New("away") },
		func() { r.db.err = nil; r.now = r.now.Add(3 * time.Minute); r.Turned() },
		func() { r.Looked(true) },
		func() { r.now = r.now.Add(3 * time.Minute); r.Looked(false) },
	)
	want := [][]string{
		{"STATUS=The gateway to Discord is not connected.", "WATCHDOG=1"}, // not ready, but alive: a new process would not be quicker
		{"READY=1", "STATUS=Connected to Discord; 3 to send.", "WATCHDOG=1"},
		{"WATCHDOG=1"}, // ready only once
		{"STATUS=The database does not answer.", "WATCHDOG=1"},
		{"STATUS=Nobody has looked for what is due for 3m0s."},
		{"STATUS=Connected to Discord; 3 to send.", "WATCHDOG=1"},
		{"STATUS=No worker has looked for messages to send for 3m0s."},
	}
	if !slices.EqualFunc(got, want, slices.Equal) {
		t.Errorf("told\n%q, want\n%q", got, want)
	}
}

// A process that another one leads is ready once that is clear, but not while the database is away.
func TestNotifyStandingBy(t *testing.T) {
	r := newRig()
	r.db.err = errors.New("away")
	got := told(t, r,
		func() { r.now = r.now.Add(standBy) },
		func() { r.db.err = nil },
	)
	want := [][]string{{"STATUS=The database does not answer.", "WATCHDOG=1"}, {"READY=1", "STATUS=Standing by and sending; 3 to send.", "WATCHDOG=1"}}
	if !slices.EqualFunc(got, want, slices.Equal) {
		t.Errorf("told\n%q, want\n%q", got, want)
	}
}

// It tells at every tick, and that it stops when it does.
func TestNotifyUntilTheEnd(t *testing.T) {
	r := newRig()
	ctx, cancel := context.WithCancel(t.Context())
	tick, states := make(chan time.Time), make(chan string, 10)
	go func() {
		defer close(states)
		r.Notify(ctx, func(state string) error { states <- state; return nil }, tick)
	}()
	tick <- r.now
	tick <- r.now
	cancel()
	var got []string
	for s := range states {
		got = append(got, s)
	}
	if len(got) < 2 || got[1] != isAlive || got[len(got)-1] != isStopping {
		t.Errorf("told %q", got)
	}
}
