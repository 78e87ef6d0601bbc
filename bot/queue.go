package bot

import (
	"context"
	"fmt"
	"sync"

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
	lanes map[lane][]Inbound // those that are being worked
	moved *sync.Cond         // an event was done; others may come in while somebody waits
}

// lane is one author in one place. What did not fit into it has a lane beside it, for being told so.
type lane struct {
	team, place, channel, author string
	full                         bool
}

// NewQueue makes a queue whose lanes hold at most limit waiting events each.
func NewQueue(ctx context.Context, b *Bot, limit int) *Queue {
	q := &Queue{ctx: ctx, bot: b, limit: limit, lanes: map[lane][]Inbound{}}
	q.moved = sync.NewCond(&q.mu)
	return q
}

// Submit queues an event and never waits. false means its lane was full and the author is told so.
func (q *Queue) Submit(in Inbound) bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	l := in.lane()
	l.full = len(q.lanes[l]) >= q.limit
	q.add(l, in)
	return !l.full
}

// Hand queues an event that can wait: it returns once the event has its place in the lane. false means that
// ctx ended first.
func (q *Queue) Hand(ctx context.Context, in Inbound) bool {
	defer context.AfterFunc(ctx, func() {
		q.mu.Lock() // else the one who waits might not wait yet
		defer q.mu.Unlock()
		q.moved.Broadcast()
	})()
	q.mu.Lock()
	defer q.mu.Unlock()
	for len(q.lanes[in.lane()]) >= q.limit && ctx.Err() == nil {
		q.moved.Wait()
	}
	if ctx.Err() != nil {
		return false
	}
	q.add(in.lane(), in)
	return true
}

func (in Inbound) lane() lane {
	return lane{team: in.Team, place: string(in.Place), channel: in.Channel, author: in.Author}
}

func (q *Queue) add(l lane, in Inbound) {
	waiting, running := q.lanes[l]
	q.lanes[l] = append(waiting, in)
	if !running {
		go q.run(l)
	}
}

// run works a lane until it is empty.
func (q *Queue) run(l lane) {
	for {
		q.mu.Lock()
		waiting := q.lanes[l]
		if len(waiting) == 0 {
			delete(q.lanes, l)
			q.moved.Broadcast()
			q.mu.Unlock()
			return
		}
		in := waiting[0]
		q.lanes[l] = waiting[1:]
		q.moved.Broadcast()
		q.mu.Unlock()
		if l.full {
			_ = q.bot.turnAway(q.ctx, in, "/busy", saidBusy) // logged
		} else {
			q.handle(in)
		}
	}
}

// handle keeps a fault in one event from ending the others.
func (q *Queue) handle(in Inbound) {
	defer func() {
		if p := recover(); p != nil {
			q.bot.Log.Error("handling an event panicked", "kind", in.Kind, "event", in.event(), "panic", fmt.Sprintf("%T", p))
			if stored, err := q.bot.Store.Claimed(q.ctx, in.event()); err == nil && !stored {
				_ = q.bot.turnAway(q.ctx, in, "/failed", saidFailed) // logged
			}
			q.failed(fmt.Errorf("handling an event panicked: %v", p))
		}
	}()
	if err := q.bot.Handle(q.ctx, in); err != nil { // logged, and told to the author, by Handle
		q.failed(err)
	}
}

// turnAway says that nothing was saved, and sees to it that nothing will be: a front that reads a channel back
// hands the event over again, and whoever was told so may have sent it once more by then. A deletion is nothing
// that its author would send again; it is found again instead.
func (b *Bot) turnAway(ctx context.Context, in Inbound, what, says string) error {
	if in.Kind == Deleted {
		return nil
	}
	if _, err := b.Front.Send(ctx, in.answer(what, says)); err != nil {
		b.Log.Warn("could not say that nothing was saved", "event", in.event(), "error", store.Explain(err))
		return fmt.Errorf("saying that nothing was saved: %w", err) // it is handled when it is read back
	}
	err := b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) error {
		_, err := tx.Claim(ctx, in.event())
		return err
	})
	if err != nil {
		b.Log.Warn("an event that was turned away may be read again", "event", in.event(), "error", store.Explain(err))
	}
	return nil
}

func (q *Queue) failed(err error) {
	if q.OnError != nil {
		q.OnError(err)
	}
}

// Wait returns when every queued event was handled.
func (q *Queue) Wait() {
	q.mu.Lock()
	defer q.mu.Unlock()
	for len(q.lanes) > 0 {
		q.moved.Wait()
	}
}

// Quiet reports whether no event of a channel waits or is being handled.
func (q *Queue) Quiet(channel string) bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	for l := range q.lanes {
		if l.channel == channel {
			return false
		}
	}
	return true
}
