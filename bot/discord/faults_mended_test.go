package discord_test

import (
	"strings"
	"testing"
	"time"

	"footing/bot/discord/discordtest"
	"footing/store"
	"footing/store/storetest"
)

// clean fails where the bot asked into a closed window or pinged somebody.
func (c *club) clean() {
	c.t.Helper()
	if v := c.w.Violations(); len(v) > 0 {
		c.t.Errorf("violations: %v", v)
	}
	if p := c.w.Pings(); len(p) > 0 {
		c.t.Errorf("pings: %v", p)
	}
}

// heard counts what the bot says in a room that holds a text.
func (c *club) heard(ch *discordtest.Channel, part string) (n int) {
	for _, m := range ch.Messages() {
		if m.Author == c.w.Bot().Name && strings.Contains(m.Content, part) {
			n++
		}
	}
	return n
}

// A block of the whole address holds for answers to interactions too: the promise waits for its end.
func TestABlockedAddressIsLeftAlone(t *testing.T) {
	storetest.Each(t, func(t *testing.T, db store.Config) {
		c := open(t, db)
		c.w.Fail(1, "POST", "/channels/*/messages", discordtest.EdgeLimited(time.Second))
		c.sam.Says(c.medical, "clinic")
		c.w.Wait("the block", func() bool { return c.w.InvalidRequests() == 1 })
		c.handled() // the bot knows of it
		i := c.sam.Slash(c.public, "clinic", nil)
		c.w.Wait("the answer after the block", func() bool { _, ok := i.Answer(); return ok }) // with the world's clock standing still
		c.clean()
	})
}

// A promise whose answer is lost, or that a proxy refuses, is made again: the answer is seen where it belongs.
func TestAPromiseIsTriedAgain(t *testing.T) {
	storetest.Each(t, func(t *testing.T, db store.Config) {
		c := open(t, db)
		for _, f := range []discordtest.Fault{discordtest.AnswerLost(), discordtest.RequestLost(), discordtest.Status(503)} {
			c.w.Fail(1, "POST", "/interactions/*/*/callback", f)
			if m := c.run(c.sam, c.public, "clinic", nil); !m.Ephemeral || !strings.Contains(m.Content, "be seen") {
				t.Errorf("answered %+v", m)
			}
		}
		if n := c.heard(c.public, ""); n > 0 {
			t.Errorf("%d answers were said aloud", n)
		}
		c.clean()
	})
}

// A lost reply that says the same as one before is not taken for it when the room is read back.
func TestTheSameWordsAreSaidTwice(t *testing.T) {
	storetest.Each(t, func(t *testing.T, db store.Config) {
		c := open(t, db)
		says(t, c.lines("clinic").Content, "be seen")
		c.w.Fail(1, "POST", "/channels/*/messages", discordtest.RequestLost())
		before := len(c.w.Requests())
		c.sam.Says(c.medical, "clinic")
		c.w.Wait("the lost request", func() bool {
			for _, r := range c.w.Requests()[before:] {
				if r.Method == "POST" && r.Status == 0 {
					return true
				}
			}
			return false
		})
		c.handled()
		c.w.Advance(2 * time.Minute)
		if err := c.b.Drain(t.Context()); err != nil {
			t.Fatal(err)
		}
		if n := c.heard(c.medical, "be seen"); n != 2 {
			t.Errorf("said %d times, want 2", n)
		}
		c.clean()
	})
}

// What is written after a gap waits for what was written in it, and both are answered once, in order.
func TestAGapIsAnsweredFirst(t *testing.T) {
	storetest.Each(t, func(t *testing.T, db store.Config) {
		c := open(t, db)
		c.stop()
		c.start() // a first sweep of a team that is set up starts the cursors
		c.lines("add 7 Mere Tau", "sprain 7 left "+cleared)
		c.w.Wait("the cursors", func() bool {
			last, err := c.b.Cursor(t.Context(), c.medical.ID)
			return err == nil && last != ""
		})
		c.stop()
		c.sam.Says(c.medical, "test 7 balance L 9")
		release := make(chan struct{})
		c.w.Fail(1, "GET", "/channels/"+c.medical.ID+"/messages", discordtest.Held(release))
		c.start()
		c.sam.Says(c.medical, "test 7 balance L 19")
		c.sam.Slash(c.medical, "help", nil) // its promise shows that what came before was taken
		c.w.Wait("the promise", func() bool { return c.medical.Last().Thinking })
		close(release)
		c.w.Wait("both", func() bool { return c.heard(c.medical, "balance L 9") == 1 && c.heard(c.medical, "balance L 19") == 1 })
		at := map[string]int{}
		for i, m := range c.medical.Messages() {
			for _, part := range []string{"balance L 9", "balance L 19"} {
				if m.Author == c.w.Bot().Name && strings.Contains(m.Content, part) {
					at[part] = i
				}
			}
		}
		if at["balance L 9"] > at["balance L 19"] {
			t.Error("the later message was answered first")
		}
		c.handled()
		c.clean()
	})
}

// Discord that is away when the process starts is waited for.
func TestAStartWhileDiscordIsAway(t *testing.T) {
	c := open(t, storetest.SQLite(t))
	c.stop()
	c.w.Fail(1, "GET", "/users/@me", discordtest.Status(503))
	c.start()
	says(t, c.lines("clinic").Content, "be seen")
	c.clean()
}

// Whoever wrote in a gap and then left the server is not answered, and keeps nobody after them waiting.
func TestSomebodyLeftInTheGap(t *testing.T) {
	storetest.Each(t, func(t *testing.T, db store.Config) {
		c := open(t, db)
		kim := c.g.Member("kim", c.medic)
		c.stop()
		c.start()
		c.lines("add 7 Mere Tau", "sprain 7 left "+cleared)
		c.w.Wait("the cursors", func() bool {
			last, err := c.b.Cursor(t.Context(), c.medical.ID)
			return err == nil && last != ""
		})
		c.stop()
		kim.Says(c.medical, "test 7 balance L 9")
		c.sam.Says(c.medical, "test 7 balance L 19")
		c.g.Remove(kim)
		c.start()
		c.w.Wait("who stayed", func() bool { return c.heard(c.medical, "balance L 19") == 1 })
		c.handled()
		if n := c.heard(c.medical, "balance L 9"); n > 0 {
			t.Error("whoever left was answered")
		}
		c.clean()
	})
}
