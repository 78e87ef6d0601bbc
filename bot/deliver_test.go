package bot_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"reflect"
	"slices"
	"sync"
	"testing"
	"time"

	"footing/bot"
	"footing/store"
	"footing/store/storetest"
)

// put writes messages of a kind for a place, named by their keys.
func (r *rig) put(t *testing.T, kind string, place bot.Place, keys ...string) {
	t.Helper()
	err := r.store.Do(t.Context(), r.now, func(tx *store.Tx) error {
		team, err := tx.Team(t.Context(), club)
		if err != nil {
			return err
		}
		if err := tx.Enter(t.Context(), team.ID); err != nil {
			return err
		}
		for _, key := range keys {
			o := store.Outgoing{Team: team.ID, TeamKey: club, Destination: string(place), Kind: kind, Key: key, Body: `{"text":"text of ` + key + `"}`, Due: r.now}
			if _, err := tx.Enqueue(t.Context(), o); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// later moves the clock and sends what is due.
func (r *rig) later(t *testing.T, d time.Duration) {
	t.Helper()
	r.now = r.now.Add(d)
	if err := r.Drain(t.Context()); err != nil {
		t.Fatal(err)
	}
}

func numbered(name string, n int) (out []string) {
	for i := range n {
		out = append(out, fmt.Sprint(name, i))
	}
	return out
}

func same(t *testing.T, what string, got, want any) {
	t.Helper()
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%s:\n got %v\nwant %v", what, got, want)
	}
}

// After a failure nothing for that place goes out before what failed, whether it was part of the same
// answer, was written later, or is a fresh reply; other places are not held up.
func TestNothingOvertakesWhatFailed(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		before := len(r.chat.shown(bot.MedicalRoom))
		r.chat.fails = 1
		r.say(t, "note 7: one\nnote 7: two\nnote 12: three")
		r.say(t, "note 7: four")
		r.put(t, "notice", bot.MedicalRoom, "five")
		r.put(t, "notice", bot.StaffRoom, "elsewhere")
		if err := r.Drain(t.Context()); err != nil {
			t.Fatal(err)
		}
		same(t, "while it is put back", len(r.chat.shown(bot.MedicalRoom))-before, 0)
		same(t, "elsewhere", r.chat.shown(bot.StaffRoom), []string{"elsewhere"})
		r.say(t, "note 7: six")
		r.chat.fails = 1
		r.later(t, time.Minute) // fails again
		r.later(t, time.Minute)
		same(t, "in the end", r.chat.shown(bot.MedicalRoom)[before:], []string{
			"kestrels/created/m2/0.0", "kestrels/created/m2/1.0", "kestrels/created/m2/2.0", "kestrels/created/m3/0.0", "five", "kestrels/created/m4/0.0",
		})
	})
}

// What a front says of a failure decides: never again, not before a time, or again for a day; for an
// alert three.
func TestAFailureIsTakenAsTheFrontSays(t *testing.T) {
	away := errors.New("away")
	for name, c := range map[string]struct {
		kind  string
		fails error
		after []time.Duration // the clock at each further look
		sends int
	}{
		"never":             {"notice", &bot.NotSent{Why: "refused", Never: true}, []time.Duration{time.Hour, 24 * time.Hour}, 1},
		"not before a time": {"notice", &bot.NotSent{Why: "busy", After: 10 * time.Minute}, []time.Duration{time.Second, 9 * time.Minute, 59 * time.Second}, 1},
		"after that time":   {"notice", &bot.NotSent{Why: "busy", After: 10 * time.Minute}, []time.Duration{13 * time.Minute}, 2},
		"soon":              {"notice", away, []time.Duration{time.Second, time.Second, time.Second}, 2},
		"at most 5 minutes": {"notice", away, []time.Duration{5 * time.Minute, 5 * time.Minute, 5 * time.Minute, 5 * time.Minute, 5 * time.Minute, 5 * time.Minute, 5 * time.Minute, 5 * time.Minute, 5 * time.Minute, 5 * time.Minute}, 11},
		"for a day":         {"notice", away, []time.Duration{23 * time.Hour, time.Hour, time.Hour}, 3},
		"an alert for three": {"alert", away, []time.Duration{23 * time.Hour, 23 * time.Hour, 23 * time.Hour, 3 * time.Hour, time.Hour},
			5},
		"an alert at once again": {"alert", away, []time.Duration{30 * time.Second, 30 * time.Second, 30 * time.Second, 30 * time.Second, 30 * time.Second, 30 * time.Second}, 7},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := newRig(t, storetest.SQLite(t))
			r.chat.refuse = func(m bot.Message) error {
				if m.Key == "k" {
					return c.fails
				}
				return nil
			}
			r.put(t, c.kind, "#1", "k")
			r.later(t, 0)
			for _, d := range c.after {
				r.later(t, d)
			}
			same(t, "sends", r.chat.sends("k"), c.sends)
		})
	}
}

// An answer to an event can be given for a quarter of an hour. Later it is said at the place. What only its
// reader was to see stays theirs alone: the front gives it up.
func TestALateAnswerIsSaidAtThePlace(t *testing.T) {
	for place, want := range map[bot.Place]bot.Place{bot.MedicalRoom: bot.MedicalRoom, bot.OnlyTo("sam"): bot.OnlyTo("sam")} {
		for _, c := range []struct {
			late   time.Duration
			answer string
			place  bot.Place
		}{{13 * time.Minute, "interaction", place}, {15 * time.Minute, "", want}} {
			t.Run(string(place)+" "+c.late.String(), func(t *testing.T) {
				r := newRig(t, storetest.SQLite(t))
				r.chat.fails = 1
				in := r.message("note 7: slept badly")
				in.Place, in.Answer = place, "interaction"
				r.send(t, in)
				r.later(t, c.late)
				m := r.chat.said[len(r.chat.said)-1]
				same(t, "the answer", []string{m.Answer, string(m.Place)}, []string{c.answer, string(c.place)})
			})
		}
	}
}

// What may have been taken is marked as such when it is sent again, with the time of the first send:
// whether its answer was lost or the process died holding it. What was never tried is not.
func TestASecondSendSaysSo(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.chat.forgetful, r.chat.loses = true, 1
		r.put(t, "notice", bot.StaffRoom, "lost", "behind")
		first := r.now
		r.later(t, 0)
		r.later(t, time.Hour)
		same(t, "shown", r.chat.shown(bot.StaffRoom), []string{"lost", "behind"})
		tries := r.chat.tries[len(r.chat.tries)-2:]
		if !tries[0].Retry || !tries[0].FirstTried.Equal(first) || tries[1].Retry {
			t.Errorf("the second sends say %v since %v, and %v of what was never sent", tries[0].Retry, tries[0].FirstTried, tries[1].Retry)
		}

		r.put(t, "notice", bot.StaffRoom, "held")
		doomed := r.process(t, r.store, func() time.Time { return r.now }, stopAt("sent"))
		if !crash(func() { _ = doomed.Drain(t.Context()) }) {
			t.Error("the process lived on")
		}
		r.later(t, store.LeaseTime)
		same(t, "sends", r.chat.sends("held"), 2)
		same(t, "shown", r.chat.shown(bot.StaffRoom), []string{"lost", "behind", "held"})
	})
}

// errCrash is a process that dies: it unwinds everything without another word to the database.
var errCrash = errors.New("the process dies here")

// stopAt is a Step that dies at a step.
func stopAt(step string) func(string) {
	return func(name string) {
		if name == step {
			panic(errCrash)
		}
	}
}

// crash runs f until it ends or the process dies in it.
func crash(f func()) (died bool) {
	defer func() {
		if p := recover(); p != nil {
			if p != errCrash {
				panic(p)
			}
			died = true
		}
	}()
	f()
	return false
}

// process is another process that speaks through the same chat.
func (r *rig) process(t *testing.T, s *store.Store, clock func() time.Time, step func(string)) *bot.Bot {
	t.Helper()
	b, err := bot.New(t.Context(), bot.Config{Store: s, Front: r.chat, Clock: clock, Log: slog.New(slog.NewTextHandler(io.Discard, nil)), Step: step})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// A process that was held up until its lease ran out sends nothing more under it: the other one did.
func TestNothingIsSentOnAnExpiredLease(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		other := r.process(t, r.store, func() time.Time { return r.now }, nil)
		r.put(t, "notice", bot.StaffRoom, "k0", "k1", "k2")
		r.chat.slow = func(context.Context, bot.Message) {
			r.chat.slow = nil
			r.now = r.now.Add(store.LeaseTime)
			if err := other.Drain(t.Context()); err != nil {
				t.Error(err)
			}
		}
		r.later(t, 0)
		same(t, "sends of each", []int{r.chat.sends("k0"), r.chat.sends("k1"), r.chat.sends("k2")}, []int{2, 1, 1})
		same(t, "shown", r.chat.shown(bot.StaffRoom), []string{"k0", "k1", "k2"})
	})
}

// A send may not outlast its lease: with less than that left the rest is given back first.
func TestTheRestOfASlowBatchIsGivenBack(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.put(t, "notice", bot.StaffRoom, numbered("k", 9)...)
		r.chat.slow = func(context.Context, bot.Message) { r.now = r.now.Add(11 * time.Second) }
		r.later(t, 0)
		same(t, "shown", r.chat.shown(bot.StaffRoom), numbered("k", 9))
		// 4 sends of 11 seconds begin in the first 40 seconds of a lease: three claims for nine messages.
		var fence int64
		if err := r.store.DB().QueryRow(`SELECT fence FROM destinations WHERE key = 'staff'`).Scan(&fence); err != nil {
			t.Fatal(err)
		}
		same(t, "claims and releases", fence, int64(6))
	})
}

// When the process is told to stop, what is being sent is still marked and the rest given back: another
// takes it at once.
func TestAnOrderlyStopLeavesNothingHeld(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.put(t, "notice", bot.StaffRoom, "k0", "k1")
		ctx, stop := context.WithCancel(t.Context())
		r.chat.slow = func(context.Context, bot.Message) { stop() }
		if err := r.Drain(ctx); err != nil && !errors.Is(err, context.Canceled) {
			t.Fatal(err)
		}
		same(t, "at the stop", r.chat.shown(bot.StaffRoom), []string{"k0"})
		r.later(t, 0)
		same(t, "afterwards", r.chat.shown(bot.StaffRoom), []string{"k0", "k1"})
		same(t, "sends of the first", r.chat.sends("k0"), 1)
	})
}

// deliver runs workers on a clock that stands still until the test ends; tick makes them look.
func (r *rig) deliver(t *testing.T, workers int) (tick chan time.Time) {
	t.Helper()
	ctx, stop := context.WithCancel(t.Context())
	tick, done := make(chan time.Time), make(chan struct{})
	go func() {
		defer close(done)
		r.Deliver(ctx, workers, tick)
	}()
	t.Cleanup(func() {
		stop()
		<-done
	})
	return tick
}

// While every worker for reminders is busy with one, an alert and a reply still go out.
func TestAnAlertDoesNotWaitForReminders(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.chat.heard = make(chan struct{}, 1)
		for _, key := range numbered("reminder", 50) {
			r.put(t, "reminder", bot.DirectTo(key), key)
		}
		busy, free := make(chan struct{}, 50), make(chan struct{})
		r.chat.slow = func(_ context.Context, m bot.Message) {
			if m.Kind == "reminder" {
				busy <- struct{}{}
				<-free
			}
		}
		tick := r.deliver(t, 3)
		letGo := sync.OnceFunc(func() { close(free) })
		t.Cleanup(letGo)
		tick <- r.now
		<-busy
		<-busy // both of the three that take reminders
		r.put(t, "alert", bot.MedicalRoom, "alert")
		r.put(t, "reply", bot.StaffRoom, "reply")
		tick <- r.now
		r.chat.await(t, "the alert and the reply", func() bool {
			said := r.chat.shown("")
			return slices.Contains(said, "alert") && slices.Contains(said, "reply")
		})
		same(t, "reminders said by then", len(r.chat.shown(""))-4, 0) // besides those two and the two of the rig
		letGo()
		r.chat.await(t, "all reminders", func() bool { return len(r.chat.shown("")) == 54 })
	})
}

// Where the front may not send reminders now, nobody holds one while it waits, and alerts go out.
func TestThePaceIsTheFronts(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.chat.heard = make(chan struct{}, 1)
		for _, key := range numbered("reminder", 5) {
			r.put(t, "reminder", bot.DirectTo(key), key)
		}
		wait := time.Hour
		r.chat.pace = func(kind string) time.Duration {
			if kind == "reminder" {
				return wait
			}
			return 0
		}
		tick := r.deliver(t, 2)
		tick <- r.now
		r.put(t, "alert", bot.MedicalRoom, "alert")
		tick <- r.now
		r.chat.await(t, "the alert", func() bool { return slices.Contains(r.chat.shown(""), "alert") })
		same(t, "reminders", len(r.chat.shown(""))-3, 0)
		b, err := r.store.ClaimDue(t.Context(), r.now, "another", len(store.Kinds)-1)
		if err != nil || len(b.Messages) != 1 || b.Messages[0].Kind != "reminder" {
			t.Errorf("a reminder that waits for its turn is held: %v %v", b, err)
		}
		if err := r.store.Release(t.Context(), b.Lease); err != nil {
			t.Fatal(err)
		}
		r.chat.mu.Lock()
		wait = 0
		r.chat.mu.Unlock()
		tick <- r.now
		r.chat.await(t, "the reminders", func() bool { return len(r.chat.shown("")) == 8 })
	})
}

// What stands before a reply at its place goes with it: a reply is not caught behind a reminder that may
// not go yet.
func TestAReplyPullsWhatStandsBeforeIt(t *testing.T) {
	r := newRig(t, storetest.SQLite(t))
	r.chat.pace = func(kind string) time.Duration {
		if kind == "reminder" {
			return time.Hour
		}
		return 0
	}
	r.put(t, "reminder", bot.DirectTo("7"), "reminder")
	r.later(t, 0)
	same(t, "alone", r.chat.shown(bot.DirectTo("7")), []string(nil))
	r.put(t, "reply", bot.DirectTo("7"), "reply")
	r.later(t, 0)
	same(t, "with a reply", r.chat.shown(bot.DirectTo("7")), []string{"reminder", "reply"})
}

// A commit wakes the workers; nobody has to tick.
func TestACommitWakesTheWorkers(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.chat.heard = make(chan struct{}, 1)
		in := r.messages("note 7: one", "note 7: two")
		free, first := make(chan struct{}), make(chan struct{})
		once := sync.OnceFunc(func() { close(first); <-free })
		r.chat.slow = func(context.Context, bot.Message) { once() }
		r.deliver(t, 2)
		go func() { _ = r.Handle(context.WithoutCancel(t.Context()), in[0]) }()
		<-first // its reply is being sent and holds the room
		if err := r.Handle(t.Context(), in[1]); err != nil {
			t.Fatal(err)
		}
		close(free)
		r.chat.await(t, "both replies", func() bool { return len(r.chat.shown("")) == 4 })
		same(t, "the order", r.chat.shown("")[2:], []string{"kestrels/created/m2/0.0", "kestrels/created/m3/0.0"})
	})
}
