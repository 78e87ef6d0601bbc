package discord_test

import (
	"net/http"
	"slices"
	"testing"
	"time"

	"footing/bot/discord"
	"footing/bot/discord/discordtest"
	"footing/store/storetest"
)

// heldPromise lets one promise be taken only when it is let go, by a bot that waits as long as it takes.
func (c *club) heldPromise() (letGo func()) {
	c.stop()
	c.times = discord.Times{Open: discordtest.Patience, Silence: time.Minute, First: time.Second, Most: time.Minute, Promise: 6 * discordtest.Patience}
	c.start()
	release := make(chan struct{})
	c.w.Fail(1, http.MethodPost, "/interactions/*/*/callback", discordtest.Held(release))
	return func() { close(release) }
}

// While the first answer to one person's command is on its way, others are answered.
func TestAPromiseOnItsWayHoldsNobodyUp(t *testing.T) {
	c := open(t, storetest.SQLite(t))
	c.lines("add 7 Mere Tau")
	letGo := c.heldPromise()
	slow := c.sam.Slash(c.public, "history", discordtest.Opts{"athlete": "7"})
	c.w.Wait("the promise on its way", func() bool { return c.w.Held() > 0 })
	other := c.cleo.Slash(c.public, "help", nil)
	c.w.Wait("the other's answer", func() bool { _, ok := other.Answer(); return ok })
	if slow.Answered() {
		t.Error("it was promised while that was held")
	}
	letGo()
	says(t, c.final(slow).Content, "7 Mere Tau")
}

// In the medical room what was told is stored while the first answer is on its way; the reply takes its place.
func TestInTheMedicalRoomAPromiseHoldsUpTheReplyAlone(t *testing.T) {
	c := open(t, storetest.SQLite(t))
	c.lines("add 7 Mere Tau")
	before := len(c.record())
	letGo := c.heldPromise()
	slow := c.sam.Slash(c.medical, "note", discordtest.Opts{"athlete": "7", "text": "seen"})
	c.w.Wait("the note", func() bool { return len(c.record()) > before })
	if slow.Answered() {
		t.Error("it was promised while that was held")
	}
	letGo()
	says(t, c.final(slow).Content, "Note kept")
}

// What only they may read is not done when it cannot be promised: they read that it failed.
func TestWithoutAPromiseNothingIsDoneThatOnlyTheyMayRead(t *testing.T) {
	c := open(t, storetest.SQLite(t))
	c.lines("add 7 Mere Tau")
	before := len(c.record())
	c.w.Fail(1, http.MethodPost, "/interactions/*/*/callback", discordtest.Refused(http.StatusNotFound, 10062, "Unknown interaction"))
	c.sam.Slash(c.public, "note", discordtest.Opts{"athlete": "7", "text": "one"})
	c.w.Wait("the refusal", func() bool {
		return slices.ContainsFunc(c.w.Requests(), func(r discordtest.Request) bool { return r.Status == http.StatusNotFound })
	})
	says(t, c.run(c.sam, c.public, "note", discordtest.Opts{"athlete": "7", "text": "two"}).Content, "Note kept")
	if n := len(c.record()) - before; n != 1 {
		t.Errorf("%d notes were kept, not the one that was promised", n)
	}
}
