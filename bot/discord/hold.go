package discord

import (
	"context"

	"footing/bot"
)

// mostHeld is how many events of a room are kept back while it is read back.
const mostHeld = 1000

// heldBack is what came in from a room while it was read back.
type heldBack struct {
	shard  int
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
		if a.shardOf(r.guild) == shard && a.held[r.channel] == nil {
			a.held[r.channel] = &heldBack{shard: shard}
		}
	}
}

// submit hands an event over, in its turn. It is the gateway's reader that calls it.
func (a *Adapter) submit(in bot.Inbound) {
	a.mu.Lock()
	if h := a.held[in.Channel]; h != nil && len(h.events) < mostHeld {
		h.events = append(h.events, in)
		a.mu.Unlock()
		return
	}
	a.mu.Unlock()
	a.queue.Submit(in)
}

// release lets go what was held of a room, in its order, and then whatever comes in. What was read back may fill a
// lane for a moment: what was held waits for its place there, until the connection ends.
func (a *Adapter) release(ctx context.Context, channel string) {
	for {
		a.mu.Lock()
		h := a.held[channel]
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

func (a *Adapter) releaseShard(ctx context.Context, shard int) {
	var channels []string
	a.mu.Lock()
	for channel, h := range a.held {
		if h.shard == shard {
			channels = append(channels, channel)
		}
	}
	a.mu.Unlock()
	for _, channel := range channels {
		a.release(ctx, channel)
	}
}
