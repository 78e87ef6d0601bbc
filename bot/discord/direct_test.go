package discord_test

import (
	"strings"
	"testing"
	"time"

	"footing/bot/discord/discordtest"
	"footing/store"
)

const opening = "/users/@me/channels"

// passes lets time pass until something holds. The windows of limits are real time, hence the pause.
func (c *club) passes(step time.Duration, what string, holds func() bool) {
	c.t.Helper()
	for late := time.Now().Add(discordtest.Patience); !holds(); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(late) {
			c.t.Fatalf("waited for %s", what)
		}
		c.w.Advance(step)
		if err := c.b.Drain(c.t.Context()); err != nil {
			c.t.Fatal(err)
		}
	}
}

// asked counts the requests of a method for a path.
func (c *club) asked(method, path string) (n int) {
	for _, r := range c.w.Requests() {
		if r.Method == method && r.Path == path {
			n++
		}
	}
	return n
}

// links has sam link an account, whose first direct message asks for consent.
func (c *club) links(u *discordtest.User, shirt string) {
	c.t.Helper()
	before := c.heard(c.medical, "is linked")
	c.sam.Says(c.medical, "link "+shirt+" account "+u.Mention())
	c.w.Wait("the link", func() bool { return c.heard(c.medical, "is linked") > before }) // and the clock stands still
	c.handled()
}

// The channel for somebody's first direct message cannot be opened: the message arrives later, once.
func TestADirectChannelOpensLater(t *testing.T) {
	for name, fault := range map[string]discordtest.Fault{
		"500":                       discordtest.Status(500),
		"502":                       discordtest.Status(502),
		"the request is lost":       discordtest.RequestLost(),
		"the answer is lost":        discordtest.AnswerLost(),
		"the route is limited":      discordtest.RateLimited(200*time.Millisecond, false),
		"the network's edge limits": discordtest.EdgeLimited(time.Second),
		"too fast (40003)":          discordtest.Refused(403, 40003, "You are opening direct messages too fast"),
	} {
		t.Run(name, func(t *testing.T) {
			onEach(t, func(t *testing.T, db store.Config) {
				c := impatient(t, db)
				c.w.Fail(2, "POST", opening, fault)
				c.links(c.mez, "7")
				c.passes(30*time.Second, "the question for consent", func() bool { return c.heard(c.mez.DM(), "") > 0 })
				for range 20 {
					c.w.Advance(10 * time.Minute)
					if err := c.b.Drain(t.Context()); err != nil {
						t.Fatal(err)
					}
				}
				if n := c.heard(c.mez.DM(), ""); n != 1 {
					t.Errorf("they were asked %d times", n)
				}
				if n := c.heard(c.medical, "could not be delivered"); n != 0 {
					t.Error("staff were told that it was not delivered")
				}
				c.clean()
			})
		})
	}
}

// Somebody takes no direct messages: staff are told once, and nobody asks again. When they write themselves,
// they are answered.
func TestADirectChannelStaysClosed(t *testing.T) {
	for name, close := range map[string]func(c *club){
		"it cannot be opened (50007)": func(c *club) {
			c.w.Fail(1, "POST", opening, discordtest.Refused(403, 50007, "Cannot send messages to this user"))
		},
		"nothing can be sent there (50007)": func(c *club) { c.mez.CloseDMs() },
		"they wrote before, then closed it": func(c *club) {
			says(c.t, c.answer(c.mez.DM(), func() { c.mez.Says(c.mez.DM(), "help") }).Content, "I do not know you yet")
			c.mez.CloseDMs()
		},
	} {
		t.Run(name, func(t *testing.T) {
			onEach(t, func(t *testing.T, db store.Config) {
				c := impatient(t, db)
				close(c)
				before := c.heard(c.mez.DM(), "")
				c.links(c.mez, "7")
				c.passes(30*time.Second, "the notice", func() bool { return c.heard(c.medical, "could not be delivered") > 0 })
				for range 20 {
					c.w.Advance(time.Hour)
					if err := c.b.Drain(t.Context()); err != nil {
						t.Fatal(err)
					}
				}
				if n := c.heard(c.medical, "A message to 7 Mere Tau could not be delivered: their direct messages are closed."); n != 1 {
					t.Errorf("staff were told %d times", n)
				}
				if n := c.heard(c.mez.DM(), ""); n != before || c.asked("POST", opening) > 1 {
					t.Errorf("%d messages arrived, the channel was asked for %d times", n-before, c.asked("POST", opening))
				}
				c.mez.OpenDMs()
				if m := c.answer(c.mez.DM(), func() { c.mez.Says(c.mez.DM(), "plan") }); !strings.Contains(m.Content, "yes or no first") {
					t.Errorf("answered %q", m.Content)
				}
				c.clean()
			})
		})
	}
}

// When Discord says that channels are opened too fast, none is opened for a while, whoever it is for.
func TestTooManyDirectChannels(t *testing.T) {
	onEach(t, func(t *testing.T, db store.Config) {
		c := impatient(t, db)
		c.lines("add 8 Kiri Hale")
		kiri := c.g.Member("kiri")
		c.w.Fail(1, "POST", opening, discordtest.Refused(403, 40003, "You are opening direct messages too fast"))
		c.links(c.mez, "7")
		c.links(kiri, "8")
		for range 9 {
			c.w.Advance(time.Minute)
			if err := c.b.Drain(t.Context()); err != nil {
				t.Fatal(err)
			}
		}
		if n := c.asked("POST", opening); n != 1 {
			t.Errorf("channels were asked for %d times within ten minutes", n)
		}
		c.passes(30*time.Second, "both", func() bool { return c.heard(c.mez.DM(), "") > 0 && c.heard(kiri.DM(), "") > 0 })
		if n, m := c.heard(c.mez.DM(), ""), c.heard(kiri.DM(), ""); n != 1 || m != 1 {
			t.Errorf("they were asked %d and %d times", n, m)
		}
		c.clean()
	})
}
