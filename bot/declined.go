package bot

import (
	"context"
	"fmt"
	"sync"
	"time"

	"footing/store"
)

// mostDeclined is how many events are remembered as declined; the oldest is forgotten first.
const mostDeclined = 10000

// declined remembers the events whose authors were told that nothing was saved. A front that reads its rooms
// back finds those messages again: to save them then, after their authors sent them anew, would double them.
type declined struct {
	mu    sync.Mutex
	keys  map[string]bool
	order []string
}

func (d *declined) add(key string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.keys == nil {
		d.keys = map[string]bool{}
	}
	if d.keys[key] {
		return
	}
	d.keys[key] = true
	if d.order = append(d.order, key); len(d.order) > mostDeclined {
		delete(d.keys, d.order[0])
		d.order = d.order[1:]
	}
}

func (d *declined) has(key string) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.keys[key]
}

// settleTime is how long an event that was declined may take to be settled: whoever declined it may be in a hurry.
const settleTime = 2 * time.Second

// decline says a fixed sentence straight back, that this event was not saved, and sees to it that it is not
// saved later, by this process or another. Nobody asked for a deletion to be saved, and one that was not is found
// again when its room is read back.
func (b *Bot) decline(ctx context.Context, in Inbound, what, says string) error {
	if in.Kind == Deleted {
		return nil
	}
	if err := b.tell(ctx, in, what, says); err != nil {
		return err // nobody was told: when it is read back, it counts
	}
	b.declined.add(in.event())
	ctx, cancel := context.WithTimeout(ctx, settleTime)
	defer cancel()
	if err := b.settle(ctx, in); err != nil { // the storage may be what failed: then it is tried when it is read back
		b.Log.Warn("a declined event is not settled yet", "event", in.event(), "error", store.Explain(err))
	}
	return nil
}

// tell says a fixed sentence straight back, outside the outbox, to whoever wrote or pressed.
func (b *Bot) tell(ctx context.Context, in Inbound, what, says string) error {
	if in.Kind == Deleted {
		return nil
	}
	_, err := b.front(ctx, in.answer(what, says))
	return err
}

// settle claims an event that was declined, so that no other process takes it for a new one.
func (b *Bot) settle(ctx context.Context, in Inbound) error {
	err := b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) error {
		_, err := tx.Claim(ctx, in.event())
		return err
	})
	if err != nil {
		return fmt.Errorf("settling a declined event: %w", err)
	}
	return nil
}
