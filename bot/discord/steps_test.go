package discord_test

import (
	"fmt"
	"testing"
	"time"

	"footing/bot"
	"footing/bot/discord/discordtest"
	"footing/store"
)

// stepper is a club whose process can be stopped or killed at a step.
type stepper struct {
	*club
	p       *process
	at      chan string   // takes the step to be reached, once
	reached chan struct{} // it was
	goOn    chan struct{} // lets it go on
	kill    bool          // it dies there
	lane    int           // how many events of one author wait at most
}

func steps(t *testing.T, db store.Config) *stepper {
	t.Helper()
	s := &stepper{club: impatient(t, db), at: make(chan string, 1), reached: make(chan struct{}, 1), goOn: make(chan struct{}), lane: 100}
	s.stop()
	s.serve()
	return s
}

// serve starts a process, in place of a dead one.
func (s *stepper) serve() {
	s.t.Helper()
	p, err := serve(s.w, s.db, s.times, s.lane, s.step)
	if err != nil {
		s.t.Fatal(err)
	}
	s.p, s.b, s.handled = p, p.bot, p.queue.Wait
	s.t.Cleanup(func() {
		if err := p.stop(); err != nil {
			s.t.Error(err)
		}
	})
}

func (s *stepper) step(p *process, name string) {
	select {
	case at := <-s.at:
		if at != name {
			s.at <- at
			return
		}
	default:
		return
	}
	if s.kill {
		p.die()
		s.reached <- struct{}{}
		panic(errDead)
	}
	s.reached <- struct{}{}
	select {
	case <-s.goOn:
	case <-time.After(discordtest.Patience):
	}
}

// during does something, and something else when the step is reached. What is read back takes steps too: it
// is over once a new line is answered.
func (s *stepper) during(step string, do, then func()) {
	s.t.Helper()
	s.lines("clinic")
	s.at <- step
	do()
	select {
	case <-s.reached:
	case <-time.After(discordtest.Patience):
		s.t.Fatalf("%q was never reached", step)
	}
	then()
}

// cut drops the gateway and returns once it is back.
func (s *stepper) cut() {
	s.t.Helper()
	before := s.w.Gateway().Identifies()
	s.w.Gateway().Cut()
	s.w.Wait("another session", func() bool { return s.w.Gateway().Identifies() > before && s.w.Gateway().Connected() })
	s.goOn <- struct{}{}
}

// another starts a process after one died; its leases have run out by then, and Discord has forgotten its nonces.
func (s *stepper) another() {
	s.t.Helper()
	s.w.Advance(max(store.LeaseTime, discordtest.NonceWindow) + time.Second)
	s.serve()
	s.settle()
}

// stepNames say in words where a fault comes.
var stepNames = map[string]string{
	"received": "between the message and the commit, as it is received", "claimed": "between the message and the commit, as its event is claimed",
	"ran": "between the message and the commit, as its command ran", "stored": "between the message and the commit, as all is written",
	"committed": "between the commit and the reply", "sent": "between the reply and its mark as sent", "settled": "after the mark as sent",
}

// unstored says whether nothing is stored at a step.
func unstored(step string) bool { return step != "committed" && step != "sent" && step != "settled" }

// The gateway is dropped, or the process dies and another takes its place, between any two steps of a line's,
// a slash command's and a press's path: what is on record is there once and answered once.
func TestFaultsAtEachStep(t *testing.T) {
	for _, step := range bot.Steps {
		t.Run(stepNames[step]+", the gateway is dropped", func(t *testing.T) {
			onEach(t, func(t *testing.T, db store.Config) {
				s := steps(t, db)
				s.during(step, func() { s.sam.Says(s.medical, "test 7 balance L 11") }, s.cut)
				s.audit(11)
				var i *discordtest.Interaction
				s.during(step, func() { i = s.slash(12) }, s.cut)
				says(t, s.final(i).Content, "balance L 12.")
				s.audit(11, 12)
				var m discordtest.Message
				s.until("the answer", func() bool { m, _ = i.Answer(); return len(m.Buttons()) > 0 })
				s.during(step, func() { i = s.sam.Presses(m.ID, button(t, m, "Undo")) }, s.cut)
				s.undone(12, s.final(i))
				s.settle()
				s.audit(11)
			})
		})
		t.Run(stepNames[step]+", the process dies", func(t *testing.T) {
			onEach(t, func(t *testing.T, db store.Config) { dies(t, steps(t, db), step) })
		})
	}
}

func dies(t *testing.T, s *stepper, step string) {
	s.kill = true
	s.during(step, func() { s.sam.Says(s.medical, "test 7 balance L 11") }, s.another)
	s.audit(11)
	var i *discordtest.Interaction
	s.during(step, func() { i = s.slash(12) }, s.another)
	if unstored(step) { // there is no reading back of a command: whoever asked sees no answer, and asks again
		if m, ok := i.Answer(); ok || s.count(`SELECT count(*) FROM measurements WHERE value = 12`) > 0 {
			t.Errorf("a command that nobody carried out was answered: %s", m.Content)
		}
		i = s.slash(12)
	}
	m := s.final(i)
	says(t, m.Content, "balance L 12.")
	s.audit(11, 12)
	s.during(step, func() { i = s.sam.Presses(m.ID, button(t, m, "Undo")) }, s.another)
	if unstored(step) {
		if n := s.live(12); n != 1 {
			t.Errorf("what nobody took back stands %d times", n)
		}
		i = s.sam.Presses(m.ID, button(t, m, "Undo"))
	}
	s.undone(12, s.final(i))
	s.settle()
	s.audit(11)
}

// slash uses the command that records a balance.
func (c *club) slash(v int) *discordtest.Interaction {
	c.t.Helper()
	return c.sam.Slash(c.medical, "test", discordtest.Opts{"athlete": "7", "tests": fmt.Sprintf("balance L %d", v)})
}

// live counts the records of a balance that stand.
func (c *club) live(v int) int {
	c.t.Helper()
	return c.count(`SELECT count(*) FROM measurements m JOIN entries e ON e.id = m.entry_id WHERE m.test = 'balance' AND m.value = $1 AND e.voided_at IS NULL AND e.superseded_at IS NULL`, v)
}

func (c *club) undone(v int, m discordtest.Message) {
	c.t.Helper()
	if n := c.live(v); n != 0 {
		c.t.Errorf("balance %d was taken back and stands %d times: %s", v, n, m.Content)
	}
	if n := c.count(`SELECT count(*) FROM entries WHERE voided_at IS NOT NULL`); n != 1 {
		c.t.Errorf("%d records were taken back, want 1", n)
	}
}
