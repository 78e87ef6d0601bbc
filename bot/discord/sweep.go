package discord

import (
	"context"
	"slices"
	"sync"
	"sync/atomic"
	"time"
)

const (
	mostReaders = 8 // rooms that are read back at once
	calmReaders = 3 // of them in direct messages where nobody waits: most of the requests a second are for others
)

// sweepAll reads the rooms of a shard back, and reports whether all could be. It leaves off when another session
// begins on the same connection: what came in since is held, in rooms that were read before.
func (a *Adapter) sweepAll(ctx context.Context, shard int, begun <-chan struct{}) bool {
	rooms, err := a.rooms(ctx)
	if err != nil {
		a.Log.Warn("rooms to read back could not be listed")
		return false
	}
	turns := &turns{rooms: slices.DeleteFunc(rooms, func(r room) bool { return a.shardOf(r.guild) != shard })}
	defer context.AfterFunc(ctx, func() {
		a.mu.Lock() // else a reader that waits might not wait yet
		defer a.mu.Unlock()
		a.waits.Broadcast()
	})()
	var failed atomic.Bool
	var readers sync.WaitGroup
	for range min(mostReaders, len(turns.rooms)) {
		readers.Go(func() {
			for {
				r, calm, more := a.next(turns, func() bool { return ctx.Err() != nil || len(begun) > 0 })
				if !more {
					return
				}
				if !a.sweepOne(ctx, r) {
					failed.Store(true)
				}
				a.done(turns, calm)
			}
		})
	}
	readers.Wait()
	return !failed.Load()
}

// sweepOne reads a room back and lets go what was held of it. A panic is a failure.
func (a *Adapter) sweepOne(ctx context.Context, r room) (ok bool) {
	defer a.bot.Recover("gateway")
	began := time.Now()
	err := a.sweep(ctx, r)
	if err == nil || ctx.Err() == nil && !a.keep(r.channel, err) {
		a.release(ctx, r.channel, began)
	}
	if err != nil && ctx.Err() == nil {
		a.Log.Warn("a room could not be read back; it is tried again", "channel", r.channel, "error", explain(err))
	}
	return err == nil || ctx.Err() != nil
}

// turns are the rooms of a sweep whose turn is still to come. The adapter's lock is theirs too.
type turns struct {
	rooms []room // a team's before direct messages
	calm  int    // that are being read where nobody waits
}

// next takes the room to be read back now: first one where something is held, for somebody waits there; then a
// team's own; then direct messages, few of them at once. It waits while only those are left and enough are read.
func (a *Adapter) next(t *turns, ended func() bool) (r room, calm, more bool) {
	a.mu.Lock()
	defer a.mu.Unlock()
	for {
		if ended() || len(t.rooms) == 0 {
			return r, false, false
		}
		at := slices.IndexFunc(t.rooms, func(r room) bool {
			h := a.held[r.channel]
			return h != nil && len(h.events) > 0
		})
		calm = at < 0 && t.rooms[0].team == 0
		if !calm || t.calm < calmReaders {
			at = max(at, 0)
			r = t.rooms[at]
			t.rooms = slices.Delete(t.rooms, at, at+1)
			if calm {
				t.calm++
			}
			return r, calm, true
		}
		a.waits.Wait()
	}
}

func (a *Adapter) done(t *turns, calm bool) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if calm {
		t.calm--
	}
	a.waits.Broadcast()
}
