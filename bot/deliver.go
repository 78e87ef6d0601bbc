package bot

import (
	"context"
	"sync"
	"time"

	"footing/store"
)

// Urgencies as places in store.Kinds.
var (
	anything = len(store.Kinds) - 1
	urgent   = 1 // alerts and replies
)

// lastWait is how long the front may make a process wait for its last sends.
const lastWait = 2 * time.Second

// Deliver sends what waits until ctx ends; then what is due by then, and returns. It looks when something
// was committed and at every tick, which also finds what another process left. The first of several workers
// takes alerts and replies only: they never wait until a reminder has been sent.
func (b *Bot) Deliver(ctx context.Context, workers int, tick <-chan time.Time) {
	var done sync.WaitGroup
	for i := range max(workers, 1) {
		least := anything
		if i == 0 && workers > 1 {
			least = urgent
		}
		b.workers.Add(1)
		done.Go(func() {
			defer b.workers.Add(-1)
			b.work(ctx, least)
		})
	}
	for ctx.Err() == nil {
		select {
		case <-ctx.Done():
		case <-tick:
			err := b.guard("notices", func() error { _, err := b.tellUndelivered(ctx); return err })
			if err != nil && ctx.Err() == nil {
				b.Log.Error("dead letters not told", "error", store.Explain(err))
			}
			b.bell.ring()
		}
	}
	done.Wait()
}

// work is one worker: it sends until nothing is to be had, then waits for the bell. It holds neither a
// destination nor a turn while it waits. What it has begun when ctx ends it finishes.
func (b *Bot) work(ctx context.Context, least int) {
	sending := context.WithoutCancel(ctx)
	for {
		heard := b.bell.next() // before it looks: what is committed afterwards rings again
		var sent bool
		var wait time.Duration
		err := b.guard("worker", func() (err error) { sent, wait, err = b.turn(sending, least); return err })
		b.Meter.Turned()
		if err != nil {
			b.Log.Error("nothing claimed", "error", store.Explain(err))
		}
		switch {
		case sent:
		case ctx.Err() == nil:
			b.pause(ctx, heard, wait)
		case err != nil || wait == 0 || wait > lastWait:
			return
		default:
			b.pause(sending, nil, wait)
		}
	}
}

// pause waits for the bell, or for a time when that is not 0: until the front may send again.
func (b *Bot) pause(ctx context.Context, heard <-chan struct{}, wait time.Duration) {
	var ready <-chan time.Time
	if wait > 0 {
		t := time.NewTimer(wait)
		defer t.Stop()
		ready = t.C
	}
	select {
	case <-ctx.Done():
	case <-heard:
	case <-ready:
	}
}

// turn claims the destination with the most urgent due message the front may send now and sends what is
// due there. claimed is false when there was none; wait is then when the front may send more, if it said so.
func (b *Bot) turn(ctx context.Context, least int) (claimed bool, wait time.Duration, err error) {
	for u := range least + 1 {
		if wait = b.ready(u); wait > 0 {
			least = u - 1
			break
		}
	}
	batch, err := b.Store.ClaimDue(ctx, b.Clock(), b.process, least)
	if err != nil || batch.Fence == 0 {
		return false, wait, err
	}
	b.Meter.Busy(1)
	defer b.Meter.Busy(-1)
	b.sendBatch(ctx, batch)
	return true, wait, nil
}

// ready is how long the front wants to wait before it sends something as urgent as that.
func (b *Bot) ready(urgency int) time.Duration {
	if p, ok := b.Front.(Paced); ok {
		return p.Ready(store.Kinds[urgency])
	}
	return 0
}

// sendBatch sends a destination's messages in order and stops at the first that fails. What stands before
// an urgent message goes at its pace.
func (b *Bot) sendBatch(ctx context.Context, batch store.Batch) {
	defer b.bell.ring() // others may have written to it meanwhile
	for i, o := range batch.Messages {
		if !b.sendNext(ctx, o, nil, batch.Urgency, i == len(batch.Messages)-1) {
			return
		}
	}
	if len(batch.Messages) == 0 {
		b.release(ctx, batch.Lease)
	}
}

// Drain sends everything that is due and that nobody holds, and tells of what could not be delivered. It
// stops when the front wants to wait.
func (b *Bot) Drain(ctx context.Context) error {
	if err := b.drain(ctx); err != nil {
		return err
	}
	if told, err := b.tellUndelivered(ctx); err != nil || !told {
		return err
	}
	return b.drain(ctx)
}

func (b *Bot) drain(ctx context.Context) error {
	for {
		if claimed, _, err := b.turn(ctx, anything); err != nil || !claimed {
			return err
		}
	}
}
