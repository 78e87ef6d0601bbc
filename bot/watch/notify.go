package watch

import (
	"context"
	"fmt"
	"time"
)

// standBy is how long a process waits to lead before it counts as standing by: another one leads.
const standBy = 10 * time.Second

// What systemd is told (sd_notify(3)).
const (
	isReady    = "READY=1"
	isAlive    = "WATCHDOG=1"
	isStopping = "STOPPING=1"
)

// Notify tells systemd how the process does, at every tick, until ctx ends: that it is ready, once, when the
// gateway was first up or another process leads; a line of status; and that it is alive, which it leaves out
// while something in it is stuck. A fault elsewhere, of Discord or of the database, is no reason to kill it: a
// new process could do no more. send tells systemd; what it cannot tell is lost.
func (w *Watch) Notify(ctx context.Context, send func(state string) error, tick <-chan time.Time) {
	n := notifier{w: w, send: send, began: w.clock()}
	for {
		select {
		case <-ctx.Done():
			_ = send(isStopping)
			return
		case <-tick:
			n.tell(ctx)
		}
	}
}

// notifier is what systemd was told so far.
type notifier struct {
	w      *Watch
	send   func(state string) error
	began  time.Time
	ready  bool
	status string
}

func (n *notifier) tell(ctx context.Context) {
	s := n.w.look(ctx)
	if ctx.Err() != nil {
		return
	}
	standing := n.w.leading.Load() == 0 && s.err == nil && n.w.clock().Sub(n.began) >= standBy
	if !n.ready && (n.w.wasUp.Load() || standing) {
		n.ready = n.send(isReady) == nil
	}
	if says := n.w.status(s); says != n.status && n.send("STATUS="+says) == nil {
		n.status = says
	}
	if !stuck(s.faults) {
		_ = n.send(isAlive)
	}
}

func stuck(faults []Fault) bool {
	for _, f := range faults {
		if f.Stuck {
			return true
		}
	}
	return false
}

// status is one line for systemctl status.
func (w *Watch) status(s state) string {
	if len(s.faults) > 0 {
		return s.faults[0].Says
	}
	n := 0
	for _, c := range s.waiting.Count {
		n += c
	}
	if w.leading.Load() == 0 {
		return fmt.Sprintf("Standing by and sending; %d to send.", n)
	}
	return fmt.Sprintf("Connected to Discord; %d to send.", n)
}
