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
	lanes map[string][]queued // those that are being worked
	moved *sync.Cond          // an event was taken or is done with, or a lane is empty; others may come in while somebody waits
	count int                 // of all events that were queued
	open  map[int]string      // the channels of those that are not done with
}

// queued is an event and how many were queued when it was.
type queued struct {
	Inbound
	nth int
}

// NewQueue makes a queue whose lanes hold at most limit waiting events each.
func NewQueue(ctx context.Context, b *Bot, limit int) *Queue {
	q := &Queue{ctx: ctx, bot: b, limit: limit, lanes: map[string][]queued{}, open: map[int]string{}}
	q.moved = sync.NewCond(&q.mu)
	return q
}

// Submit queues an event. false means its lane was full and the author was told so.
func (q *Queue) Submit(in Inbound) bool {
	q.mu.Lock()
	if len(q.lanes[in.lane()]) >= q.limit {
		q.mu.Unlock()
		q.bot.Meter.Event(in.Kind, "busy", 0)
		if err := q.bot.decline(q.ctx, in, "/busy", saidBusy); err != nil {
			q.bot.Log.Warn("could not say busy", "error", store.Explain(err))
		}
		return false
	}
	q.add(in)
	q.mu.Unlock()
	return true
}

// Hand queues an event that can wait, as what is read back can: it returns once the event has its place in the
// lane. false means that ctx ended first.
func (q *Queue) Hand(ctx context.Context, in Inbound) bool {
	defer context.AfterFunc(ctx, q.wake)()
	q.mu.Lock()
	defer q.mu.Unlock()
	for len(q.lanes[in.lane()]) >= q.limit && ctx.Err() == nil {
		q.moved.Wait()
	}
	if ctx.Err() != nil {
		return false
	}
	q.add(in)
	return true
}

// wake has those who wait look whether their context ended.
func (q *Queue) wake() {
	q.mu.Lock() // else the one who waits might not wait yet
	defer q.mu.Unlock()
	q.moved.Broadcast()
}

func (in Inbound) lane() string {
	return in.Team + "/" + string(in.Place) + in.Channel + "/" + in.Author
}

func (q *Queue) add(in Inbound) {
	waiting, running := q.lanes[in.lane()]
	q.count++
	q.open[q.count] = in.Channel
	q.lanes[in.lane()] = append(waiting, queued{in, q.count})
	if !running {
		go q.run(in.lane())
	}
}

// run works a lane until it is empty.
func (q *Queue) run(key string) {
	for {
		q.mu.Lock()
		waiting := q.lanes[key]
		if len(waiting) == 0 {
			delete(q.lanes, key)
			q.moved.Broadcast()
			q.mu.Unlock()
			return
		}
		in := waiting[0]
		q.lanes[key] = waiting[1:]
		q.moved.Broadcast()
		q.mu.Unlock()
		q.handle(in.Inbound)
		q.mu.Lock()
		delete(q.open, in.nth)
		q.moved.Broadcast()
		q.mu.Unlock()
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

// Mark is a moment for Done.
func (q *Queue) Mark() int {
	q.mu.Lock()
	defer q.mu.Unlock()
	return q.count
}

// Done reports whether all of a channel that was queued before a mark is handled, whatever came since.
func (q *Queue) Done(channel string, mark int) bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	return q.done(channel, mark)
}

func (q *Queue) done(channel string, mark int) bool {
	for nth, of := range q.open {
		if nth <= mark && of == channel {
			return false
		}
	}
	return true
}

// Settle returns when all of a channel that is queued now is handled. false means that ctx ended first.
func (q *Queue) Settle(ctx context.Context, channel string) bool {
	defer context.AfterFunc(ctx, q.wake)()
	q.mu.Lock()
	defer q.mu.Unlock()
	for mark := q.count; !q.done(channel, mark) && ctx.Err() == nil; {
		q.moved.Wait()
	}
	return ctx.Err() == nil
}

// Wait returns when every queued event was handled.
func (q *Queue) Wait() {
	q.mu.Lock()
	defer q.mu.Unlock()
	for len(q.lanes) > 0 {
		q.moved.Wait()
	}
}
