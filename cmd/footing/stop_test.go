package main

import (
	"testing"
	"time"

	"footing/bot/discord/discordtest"
	"footing/store"
	"footing/store/storetest"
)

// A process that is told to stop answers what it accepted first, and ends without a fault.
func TestAStopAnswersWhatWasAccepted(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, db store.Config) {
		l := newLeague(t, db)
		p := l.serve()
		l.begin(1)
		sent := l.everybody("before the stop", 8)
		until(t, "some to be answered", func() bool { return answered(l, sent) > 3 })
		if took := p.stop(); took > 10*time.Second {
			t.Errorf("it took %v", took)
		}
		for _, o := range l.outbox() {
			if !o.out {
				t.Errorf("%s was written and not said", o.key)
			}
		}
		l.audit() // what came in too late is neither answered nor stored
	})
}

func answered(l *league, list []*told) (n int) {
	for _, o := range l.outbox() {
		for _, m := range list {
			if o.source == m.id && o.out {
				n++
			}
		}
	}
	return n
}

// When Discord takes nothing any more, a process ends all the same; the next one says what was left, once.
func TestAStopWhileDiscordHangs(t *testing.T) {
	if testing.Short() {
		t.Skip("waits for a process that waits")
	}
	t.Parallel()
	l := newLeague(t, storetest.SQLite(t)) // seconds of waiting, in which the engine has no part
	p := l.serve()
	l.begin(1)
	release := make(chan struct{})
	defer close(release)
	c := l.clubs[0]
	l.w.Fail(1, "POST", "/channels/"+c.medical.ID+"/messages", discordtest.Held(release))
	c.says(c.people[0], "note 7: held")
	c.says(c.people[1], "note 7: behind it")
	until(t, "both to be stored", func() bool {
		n := 0
		return l.raw.QueryRow(`SELECT count(*) FROM entries WHERE kind = 'note' OR body LIKE '%held%' OR body LIKE '%behind it%'`).Scan(&n) == nil && n >= 2
	})
	if took := p.stop(); took > 12*time.Second {
		t.Errorf("it took %v", took)
	}
	l.later(store.LeaseTime + time.Second)
	p = l.serve()
	l.quiet(0)
	p.stop()
	l.audit()
}

// A message that Discord took without saying so, from a process that is killed meanwhile, is not said twice.
func TestAnAnswerLostIsNotSaidTwice(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, db store.Config) {
		l := newLeague(t, db)
		p := l.serve()
		l.begin(1)
		c := l.clubs[0]
		l.w.Fail(1, "POST", "/channels/"+c.medical.ID+"/messages", discordtest.AnswerLost())
		c.says(c.people[0], "note 7: lost")
		until(t, "the message", func() bool { return len(c.medical.Messages()) == 4 }) // two lines, two answers
		p.kill()
		l.later(store.LeaseTime + 10*time.Second)
		p = l.serve()
		l.quiet(0)
		p.stop()
		l.audit()
	})
}
