package bot

import (
	"context"
	"sync"
	"time"

	"footing/store"
)

// Queue hands events to a bot: those of one author in one place one after the other, in the order
// they came, others side by side. Each such lane holds only so many; what does not fit is answered
// "busy, nothing saved".
type Queue struct {
	// OnError, when set, is told of every event that could not be handled.
	OnError func(error)

	ctx   context.Context // the process's: an event outlives whoever handed it over
	bot   *Bot
	limit int

	mu    sync.Mutex
	lanes map[string][]Inbound // those that are being worked
	idle  *sync.Cond           // no lane is left; events may come in while somebody waits for that
}

// NewQueue makes a queue whose lanes hold at most limit waiting events each.
func NewQueue(ctx context.Context, b *Bot, limit int) *Queue {
	q := &Queue{ctx: ctx, bot: b, limit: limit, lanes: map[string][]Inbound{}}
	q.idle = sync.NewCond(&q.mu)
	return q
}

// Submit queues an event. false means its lane was full and the author was told so.
func (q *Queue) Submit(in Inbound) bool {
	key := in.Team + "/" + string(in.Place) + in.Channel + "/" + in.Author
	q.mu.Lock()
	waiting, running := q.lanes[key]
	if len(waiting) >= q.limit {
		q.mu.Unlock()
		q.bot.Meter.Event(in.Kind, "busy", 0)
		if err := q.bot.decline(q.ctx, in, "/busy", saidBusy); err != nil {
			q.bot.Log.Warn("could not say busy", "error", store.Explain(err))
		}
		return false
	}
	q.lanes[key] = append(waiting, in)
	if !running {
		go q.run(key)
	}
	q.mu.Unlock()
	return true
}

// run works a lane until it is empty.
func (q *Queue) run(key string) {
	for {
		q.mu.Lock()
		waiting := q.lanes[key]
		if len(waiting) == 0 {
			delete(q.lanes, key)
			if len(q.lanes) == 0 {
				q.idle.Broadcast()
			}
			q.mu.Unlock()
			return
		}
		in := waiting[0]
		q.lanes[key] = waiting[1:]
		q.mu.Unlock()
		q.handle(in)
	}
}

// handle keeps a fault in one event from ending the others.
func (q *Queue) handle(in Inbound) {
	began, outcome := time.Now(), "panicked"
	err := q.bot.guard("event", func() (err error) {
		outcome, err = q.bot.handle(q.ctx, in)
		return err
	})
	q.bot.Meter.Event(in.Kind, outcome, time.Since(began))
	if outcome == "panicked" {
		q.bot.Log.Error("event not handled", "kind", in.Kind, "event", in.event(), "error", "panicked")
		if err := q.bot.decline(q.ctx, in, "/failed", saidFailed); err != nil {
			q.bot.Log.Warn("could not say that it failed", "error", store.Explain(err))
		}
	}
	if err != nil {
		q.failed(err)
	}
}

func (q *Queue) failed(err error) {
	if q.OnError != nil {
		q.OnError(err)
	}
}

// Idle reports whether nothing waits and nothing is being handled.
func (q *Queue) Idle() bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	return len(q.lanes) == 0
}

// Wait returns when every queued event was handled.
func (q *Queue) Wait() {
	q.mu.Lock()
	defer q.mu.Unlock()
	for len(q.lanes) > 0 {
		q.idle.Wait()
	}
}
