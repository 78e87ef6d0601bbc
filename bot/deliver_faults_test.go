package bot_test

import (
	"context"
	"footing/bot"
	"footing/store"
	"footing/store/storetest"
	"strings"
	"sync"
	"testing"
	"time"
)

// A message that can no longer be read blocks nothing behind it.
func TestAnUnreadableMessageIsGivenUp(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.chat.fails = 1
		r.say(t, "sprain 7 left")
		err := r.store.Do(t.Context(), r.now, func(tx *store.Tx) error {
			team, err := tx.Team(t.Context(), club)
			if err != nil {
				return err
			}
			if err := tx.Enter(t.Context(), team.ID); err != nil {
				return err
			}
			for _, o := range []store.Outgoing{{Key: "bad", Body: "{"}, {Key: "good", Body: `{"text":"after it"}`}} {
				o.Team, o.Destination, o.Kind, o.Due = team.ID, string(bot.MedicalRoom), "reply", r.now
				if _, err := tx.Enqueue(t.Context(), o); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		r.now = r.now.Add(time.Minute)
		if err := r.Tick(t.Context()); err != nil {
			t.Fatal(err)
		}
		wants(t, strings.Join(r.chat.texts(), "\n"), "medical: after it")
	})
}

// A front whose own code fails is a failure like any other.
func TestAFrontThatPanicsIsTriedAgain(t *testing.T) {
	r := newRig(t, storetest.SQLite(t))
	once := sync.OnceFunc(func() { panic("a fault of the front") })
	r.chat.slow = func(_ context.Context, m bot.Message) {
		if m.Key == "k" {
			once()
		}
	}
	r.put(t, "notice", bot.StaffRoom, "k")
	r.later(t, 0)
	r.chat.slow = nil
	r.later(t, time.Minute)
	same(t, "shown", r.chat.shown(bot.StaffRoom), []string{"k"})
}
