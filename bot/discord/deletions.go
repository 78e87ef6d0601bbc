package discord

import (
	"context"

	"footing/bot"
	"footing/rehab"
)

// gone hands deletions over: those in direct messages and in a team's rooms, where each may be of a record, and
// elsewhere those of messages that the bot has read. Chat that moderators remove is not its business.
func (a *Adapter) gone(ctx context.Context, guild, channel string, messages ...string) {
	if guild == "" {
		a.mu.Lock()
		account := a.dms[channel]
		a.mu.Unlock()
		if account == "" {
			return
		}
		for _, id := range messages {
			in := a.deletion(guild, channel, id)
			in.Author, in.Place = account, bot.DirectTo(account)
			a.submit(in)
		}
		return
	}
	t, err := a.bot.Team(ctx, guild)
	switch {
	case bot.NoTeam(err):
	case err != nil:
		a.Log.Warn("deletions were not taken", "channel", channel, "count", len(messages))
	case channel == t.Rooms.Medical || channel == t.Rooms.Staff:
		for _, id := range messages {
			a.submit(a.deletion(guild, channel, id))
		}
	default:
		go a.goneElsewhere(ctx, t, channel, messages)
	}
}

// goneElsewhere looks which deleted messages the bot has read, once what was said there before them is handled.
func (a *Adapter) goneElsewhere(ctx context.Context, t rehab.Team, channel string, messages []string) {
	defer a.bot.Recover("gateway")
	if !a.queue.Settle(ctx, channel) {
		return
	}
	known, err := a.bot.Known(ctx, t.ID, messages)
	if err != nil && ctx.Err() == nil {
		a.Log.Warn("deletions were not taken", "channel", channel, "count", len(messages))
	}
	for _, id := range known {
		a.queue.Hand(ctx, a.deletion(t.Key, channel, id))
	}
}

// deletion is a message's. Discord does not say who deleted.
func (a *Adapter) deletion(guild, channel, id string) bot.Inbound {
	return bot.Inbound{Kind: bot.Deleted, Team: guild, Message: id, Author: "someone", Channel: channel, Sent: a.Clock()}
}
