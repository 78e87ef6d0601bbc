// Package watch says how the running process does: to whoever looks at /health, to a collector of metrics at
// /metrics, and to systemd. It holds counts, fixed words and durations: never a name, a team, an account or
// anything that was said, neither as a value nor as a label.
package watch

import (
	"context"
	"fmt"
	"sync/atomic"
	"time"

	"footing/bot"
	"footing/store"
)

const (
	// mostQuiet is how long the clock and the workers may be without a look. They look every 20 s and 5 s; one
	// send to a slow Discord takes 20 s.
	mostQuiet = 2 * time.Minute
	// mostLate is how long a due message may wait that could be sent. One that failed is not due until it is
	// tried again.
	mostLate = 10 * time.Minute
	// askTime is how long the database may take to answer.
	askTime = 3 * time.Second
)

// Database is what is asked of the storage. *store.Store is one.
type Database interface {
	Waiting(ctx context.Context, now time.Time) (store.Waiting, error)
}

// Watch is told what happens and says how it stands. It is a bot.Meter and a discord.Meter, and safe for
// concurrent use.
type Watch struct {
	*metrics
	db    Database
	clock func() time.Time

	looked, turned     atomic.Int64 // when the clock and a worker last looked, in Unix nanoseconds
	leading, connected atomic.Int64 // gateways this process is to hold, and those that are up
	wasUp              atomic.Bool  // one was up once
}

// New makes a watch that begins now.
func New(db Database, clock func() time.Time) *Watch {
	w := &Watch{metrics: newMetrics(), db: db, clock: clock}
	w.looked.Store(clock().UnixNano())
	w.turned.Store(clock().UnixNano())
	w.register(collector{w})
	return w
}

// Looked implements bot.Meter.
func (w *Watch) Looked(failed bool) {
	w.looked.Store(w.clock().UnixNano())
	w.metrics.looked(failed)
}

// Turned implements bot.Meter.
func (w *Watch) Turned() { w.turned.Store(w.clock().UnixNano()) }

// Connected implements discord.Meter.
func (w *Watch) Connected(by int) {
	w.connected.Add(int64(by))
	if by > 0 {
		w.wasUp.Store(true)
		w.opened.Inc()
	}
}

// Lead tells that this process is to hold a gateway (1), or no longer (-1).
func (w *Watch) Lead(by int) { w.leading.Add(int64(by)) }

// Fault is one thing that is wrong, in a plain sentence.
type Fault struct {
	Says string
	// Stuck means that something in this process hangs, so that a new one would be better. Else the trouble
	// is elsewhere and starting anew would only add to it.
	Stuck bool
}

// state is how things stand at one moment.
type state struct {
	waiting store.Waiting
	err     error // the database did not answer
	faults  []Fault
}

func (w *Watch) look(ctx context.Context) state {
	ctx, cancel := context.WithTimeout(ctx, askTime)
	defer cancel()
	now := w.clock()
	var s state
	if s.waiting, s.err = w.db.Waiting(ctx, now); s.err != nil {
		s.faults = append(s.faults, Fault{Says: "The database does not answer."})
	}
	if w.connected.Load() < w.leading.Load() {
		s.faults = append(s.faults, Fault{Says: "The gateway to Discord is not connected."})
	}
	if quiet := now.Sub(time.Unix(0, w.looked.Load())); quiet > mostQuiet {
		s.faults = append(s.faults, Fault{Says: fmt.Sprintf("Nobody has looked for what is due for %s.", quiet.Round(time.Second)), Stuck: true})
	}
	if quiet := now.Sub(time.Unix(0, w.turned.Load())); quiet > mostQuiet {
		s.faults = append(s.faults, Fault{Says: fmt.Sprintf("No worker has looked for messages to send for %s.", quiet.Round(time.Second)), Stuck: true})
	}
	if s.waiting.Oldest > mostLate {
		s.faults = append(s.faults, Fault{Says: fmt.Sprintf("A message has been due for %s and is not sent.", s.waiting.Oldest.Round(time.Second))})
	}
	return s
}

// Health lists what is wrong, nothing when all is well.
func (w *Watch) Health(ctx context.Context) []Fault { return w.look(ctx).faults }

var _ bot.Meter = (*Watch)(nil)
