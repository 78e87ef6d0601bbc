package discord_test

import (
	"fmt"
	"testing"

	"footing/bot/discord/discordtest"
	"footing/store"
)

// Whoever writes as a session begins waits for their own room to be read back, not for everybody else's.
func TestWhereSomebodyWaitsIsReadBackFirst(t *testing.T) {
	onEach(t, func(t *testing.T, db store.Config) {
		c := impatient(t, db)
		var squad []*discordtest.User
		for i := range 12 {
			shirt, u := fmt.Sprint(20+i), c.g.Member(fmt.Sprint("athlete", i))
			c.lines("add " + shirt + " Player Number" + string(rune('a'+i)))
			c.links(u, shirt)
			c.until("the question for consent", func() bool { return c.heard(u.DM(), "") > 0 })
			squad = append(squad, u)
		}
		c.stop()
		hurt, others := squad[len(squad)-1], squad[:len(squad)-1]
		release := make(chan struct{})
		defer close(release)
		for _, u := range others {
			c.w.Fail(1, "GET", "/channels/"+u.DM().ID+"/messages", discordtest.Held(release))
		}
		before := c.heard(hurt.DM(), "")
		c.start()
		c.w.Wait("direct messages being read", func() bool { return c.w.Held() > 0 })
		hurt.Says(hurt.DM(), "wrong : my foot went cold")
		c.w.Wait("an answer", func() bool { return c.heard(hurt.DM(), "") > before })
		if n := c.w.Held(); n >= len(others) {
			t.Errorf("%d rooms where nobody waits were read at once", n)
		}
	})
}
