package discord_test

import (
	"slices"
	"strings"
	"testing"

	"footing/bot/discord/discordtest"
	"footing/store"
)

// A room that cannot be read back at first, or whose connection ends before it could be, is read back before
// what comes in is handled all the same.
func TestAGapThatCannotBeReadYetIsAnsweredFirst(t *testing.T) {
	for name, cut := range map[string]bool{"it fails twice": false, "the gateway is cut meanwhile": true} {
		t.Run(name, func(t *testing.T) {
			onEach(t, func(t *testing.T, db store.Config) {
				c := impatient(t, db)
				c.stop()
				c.sam.Says(c.medical, "test 7 balance L 9")
				c.w.Fail(2, "GET", "/channels/"+c.medical.ID+"/messages", discordtest.Status(503))
				release := make(chan struct{})
				c.w.Fail(1, "GET", "/channels/"+c.medical.ID+"/messages", discordtest.Held(release))
				c.start()
				c.sam.Says(c.medical, "test 7 balance L 19")
				c.sam.Slash(c.medical, "help", nil) // its promise shows that what came before was taken
				c.w.Wait("the promise", func() bool { return c.medical.Last().Thinking })
				if cut {
					before := c.w.Gateway().Identifies()
					c.w.Gateway().Cut()
					close(release)
					c.w.Wait("another session", func() bool { return c.w.Gateway().Identifies() > before })
				} else {
					close(release)
				}
				c.audit(9, 19)
				if m := c.medical.Messages(); c.place("balance L 9.") > c.place("balance L 19.") {
					t.Errorf("the later of %d messages was answered first", len(m))
				}
			})
		})
	}
}

// A reading that began before a gap does not end the waiting for it.
func TestAnOlderReadingDoesNotAnswerAGap(t *testing.T) {
	onEach(t, func(t *testing.T, db store.Config) {
		c := impatient(t, db)
		release := make(chan struct{})
		c.lines("test 7 balance L 8") // is read back, and who wrote it asked for
		c.w.Fail(1, "GET", "/guilds/*/members/*", discordtest.Held(release))
		asked := len(c.w.Requests())
		c.w.Gateway().Invalidate(false)
		c.w.Wait("the reading", func() bool {
			return slices.ContainsFunc(c.w.Requests()[asked:], func(r discordtest.Request) bool {
				return r.Method == "GET" && r.Path == "/channels/"+c.medical.ID+"/messages"
			})
		})
		before := c.w.Gateway().Identifies()
		c.w.Gateway().Invalidate(false)
		c.sam.Says(c.medical, "test 7 balance L 9") // to nobody
		c.w.Wait("another session", func() bool { return c.w.Gateway().Identifies() > before && c.w.Gateway().Connected() })
		c.sam.Says(c.medical, "test 7 balance L 19")
		c.sam.Slash(c.medical, "help", nil)
		c.w.Wait("the promise", func() bool { return c.medical.Last().Thinking })
		close(release)
		c.audit(8, 9, 19)
		if c.place("balance L 9.") > c.place("balance L 19.") {
			t.Error("the later message was answered first")
		}
	})
}

// place is where in the medical room the bot says something.
func (c *club) place(text string) int {
	for i, m := range c.medical.Messages() {
		if m.Author == c.w.Bot().Name && strings.Contains(m.Content, text) {
			return i
		}
	}
	return -1
}
