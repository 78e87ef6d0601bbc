package discord_test

import (
	"strings"
	"testing"
	"time"

	"footing/bot/discord/discordtest"
	"footing/store"
)

const original = "/webhooks/*/*/messages/@original"

// However the request fails that puts an answer in its promise's place, one answer is to be seen.
func TestAnAnswerIsSeenOnce(t *testing.T) {
	for name, fault := range map[string]discordtest.Fault{
		"the answer is lost":        discordtest.AnswerLost(),
		"the request is lost":       discordtest.RequestLost(),
		"500":                       discordtest.Status(500),
		"502":                       discordtest.Status(502),
		"the route is limited":      discordtest.RateLimited(200*time.Millisecond, false),
		"the network's edge limits": discordtest.EdgeLimited(time.Second),
	} {
		t.Run(name, func(t *testing.T) {
			onEach(t, func(t *testing.T, db store.Config) {
				c := impatient(t, db)
				c.w.Fail(2, "PATCH", original, fault)
				i := c.slash(12)
				c.w.Wait("the record", func() bool { return c.live(12) == 1 })
				c.handled()
				c.passes(100*time.Millisecond, "the answer", func() bool { _, ok := i.Answer(); return ok && c.waiting() == 0 && c.unsent() == 0 })
				c.once(i)
			})
		})
	}
}

// once fails unless a command's answer is to be seen once.
func (c *club) once(i *discordtest.Interaction) {
	c.t.Helper()
	if len(i.FollowUps()) > 0 || c.medical.Last().Thinking {
		c.t.Error("there is more than the answer")
	}
	c.audit(12)
}

// unsent counts what was neither sent nor given up.
func (c *club) unsent() int {
	c.t.Helper()
	return c.count(`SELECT count(*) FROM outbox WHERE sent_at IS NULL AND dead_at IS NULL`)
}

// An answer that was first tried long after its promise, and was lost, is found where the promise stood once
// the token has run out.
func TestALostAnswerIsFoundWhereItsPromiseStood(t *testing.T) {
	onEach(t, func(t *testing.T, db store.Config) {
		c := impatient(t, db)
		c.w.Fail(1, "POST", "/channels/*/messages", discordtest.Status(503))
		c.sam.Says(c.medical, "test 7 balance L 11") // the room is put off
		c.w.Wait("the failure", func() bool { return c.count(`SELECT count(*) FROM outbox WHERE last_error = 'failed'`) == 1 })
		c.handled()
		i := c.slash(12)
		c.w.Wait("the record", func() bool { return c.live(12) == 1 })
		c.handled()
		c.w.Fail(1, "PATCH", original, discordtest.AnswerLost())
		for _, d := range []time.Duration{5 * time.Minute, 15 * time.Minute, time.Hour} {
			c.w.Advance(d)
			if err := c.b.Drain(t.Context()); err != nil {
				t.Fatal(err)
			}
		}
		c.once(i)
		c.audit(11)
	})
}

// What comes while the queue of its author is full is answered "busy, nothing saved", and that stays true: it
// is not saved when the room is read back, nor by the next process. Others are not kept waiting.
func TestAFullQueue(t *testing.T) {
	onEach(t, func(t *testing.T, db store.Config) {
		s := steps(t, db)
		if err := s.p.stop(); err != nil {
			t.Fatal(err)
		}
		s.lane = 1
		s.serve()
		var i *discordtest.Interaction
		s.during("received", func() { s.sam.Says(s.medical, "test 7 balance L 11") }, func() {
			s.sam.Says(s.medical, "test 7 balance L 12")
			s.sam.Says(s.medical, "test 7 balance L 13")
			i = s.slash(14)
			s.w.Wait("busy, twice", func() bool {
				m, ok := i.Answer()
				return s.heard(s.medical, "Busy: nothing was saved") == 2 && ok && strings.Contains(m.Content, "Busy")
			})
			s.cleo.Says(s.staff, s.w.Bot().Mention()+" report")
			s.w.Wait("the coach's answer", func() bool { return s.heard(s.staff, "Availability") == 1 })
			s.goOn <- struct{}{}
		})
		s.audit(11, 12)
		s.p.die()
		s.another()
		s.lines("clinic") // what is read back is handled by then
		s.audit(11, 12)
		if n := s.count(`SELECT count(*) FROM measurements WHERE value IN (13, 14)`); n != 0 {
			t.Errorf("%d were saved of which it was said that they were not", n)
		}
	})
}
