package discordtest

import (
	"testing"
	"time"
)

// Gateway, Sharding: a guild's events come by shard (guild_id >> 22) % num_shards, direct messages by shard 0.
func TestEachShardHasItsOwnGuilds(t *testing.T) {
	t.Parallel()
	w := New(t)
	even := w.Guild("harbour")
	w.Advance(time.Millisecond) // the next id's time is odd, as this one's is even
	odd := w.Guild("hills")
	rooms := []*Channel{even.Channel("talk"), odd.Channel("talk")}
	mere := even.Member("mere")
	odd.Member("mere")
	first, second := client(t, w, chatIntents), client(t, w, chatIntents)
	first.Identify.Shard, second.Identify.Shard = &[2]int{0, 2}, &[2]int{1, 2}
	a, b := heard(first), heard(second)
	open(t, w, first)
	open(t, w, second)

	mere.Says(rooms[1], "odd")
	mere.Says(rooms[0], "even")
	mere.Says(mere.DM(), "direct")
	for _, want := range []string{rooms[0].ID, mere.DM().ID} {
		if m := nextMessage(t, a, "MESSAGE_CREATE"); m.ChannelID != want {
			t.Errorf("the first shard heard of channel %s, want %s", m.ChannelID, want)
		}
	}
	mere.Says(rooms[1], "odd again")
	for range 2 {
		if m := nextMessage(t, b, "MESSAGE_CREATE"); m.ChannelID != rooms[1].ID {
			t.Errorf("the second shard heard of channel %s", m.ChannelID)
		}
	}
	spans := w.Gateway().Spans()
	if len(spans) != 2 || spans[0].Shard != 0 || spans[1].Shard != 1 || w.Gateway().Live() != 2 {
		t.Errorf("sessions: %+v, %d live", spans, w.Gateway().Live())
	}
}
