package discord

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"time"

	"footing/bot"
)

const (
	mostHeld    = 1000             // events of a room that are kept back while it is read back
	longestHold = 30 * time.Second // while that fails and is tried again
)

// heldBack is what came in from a room while it was read back.
type heldBack struct {
	shard  int
	since  time.Time
	again  bool // reading it back failed and is tried again soon
	events []bot.Inbound
}

// hold keeps back what comes in from the rooms of a shard until they are read back, so that each author's
// messages are handled in their order. It is called as a session begins, before its first event.
func (a *Adapter) hold(ctx context.Context, shard int) {
	rooms, err := a.rooms(ctx)
	if err != nil {
		a.Log.Warn("rooms to read back could not be listed")
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	for _, r := range rooms {
		if account, direct := r.place.Direct(); direct {
			a.dms[r.channel] = account // a deletion there does not say whose it is
		}
		if a.shardOf(r.guild) != shard {
			continue
		}
		if a.held[r.channel] == nil {
			a.held[r.channel] = &heldBack{shard: shard}
		}
		a.held[r.channel].since = time.Now()
	}
}

// submit hands an event over, in its turn. It is the gateway's reader that calls it.
func (a *Adapter) submit(in bot.Inbound) {
	a.mu.Lock()
	if h := a.held[in.Channel]; h != nil && len(h.events) < mostHeld {
		h.events = append(h.events, in)
		a.waits.Broadcast() // its room is read back next
		a.mu.Unlock()
		return
	}
	a.mu.Unlock()
	a.queue.Submit(in)
}

// release lets go what was held of a room, in its order, and then whatever comes in. What was read back may fill a
// lane for a moment: what was held waits for its place there, until the connection ends. A reading ends only a
// hold that it began after: a session may have begun meanwhile, and what was missed before it is not read yet.
func (a *Adapter) release(ctx context.Context, channel string, began time.Time) {
	for {
		a.mu.Lock()
		h := a.held[channel]
		if h != nil && h.since.After(began) {
			a.mu.Unlock()
			return
		}
		if h == nil || len(h.events) == 0 {
			delete(a.held, channel)
			a.mu.Unlock()
			return
		}
		events := h.events
		h.events = nil
		a.mu.Unlock()
		for _, in := range events {
			if !a.queue.Hand(ctx, in) {
				a.queue.Submit(in)
			}
		}
	}
}

// keep keeps a room held that could not be read back, when another try may do better, but not for ever.
func (a *Adapter) keep(channel string, err error) bool {
	var s *status
	if errors.As(err, &s) && s.HTTP < http.StatusInternalServerError {
		return false // Discord will not let it be read
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	h := a.held[channel]
	if h != nil {
		h.again = time.Since(h.since) < longestHold
	}
	return h != nil && h.again
}

// releaseShard lets go what a shard's readings left held, but for rooms that are tried again soon.
func (a *Adapter) releaseShard(ctx context.Context, shard int, began time.Time) {
	for _, channel := range a.heldOf(shard, func(h *heldBack) bool { return !h.again || time.Since(h.since) > longestHold }) {
		a.release(ctx, channel, began)
	}
}

// releaseAll lets go whatever is held of a shard, at its end.
func (a *Adapter) releaseAll(ctx context.Context, shard int) {
	for _, channel := range a.heldOf(shard, func(*heldBack) bool { return true }) {
		a.release(ctx, channel, time.Now())
	}
}

func (a *Adapter) heldOf(shard int, which func(*heldBack) bool) (channels []string) {
	a.mu.Lock()
	defer a.mu.Unlock()
	for channel, h := range a.held {
		if h.shard == shard && which(h) {
			channels = append(channels, channel)
		}
	}
	return channels
}

// cutOff is the end of a connection. What was typed in a room that is still held is read back by the next one,
// in its place; what nobody could read back is let go.
func (a *Adapter) cutOff(ctx context.Context, shard int) {
	var events []bot.Inbound
	a.mu.Lock()
	for _, h := range a.held {
		if h.shard == shard {
			h.again = true
			h.events = slices.DeleteFunc(h.events, func(in bot.Inbound) bool {
				apart := in.Command != "" || in.Kind == bot.Pressed
				if apart {
					events = append(events, in)
				}
				return apart
			})
		}
	}
	a.mu.Unlock()
	for _, in := range events {
		if !a.queue.Hand(ctx, in) {
			a.queue.Submit(in)
		}
	}
}
