package bot_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"footing/bot"
)

// Whoever is told that nothing was saved sends it again: when the chat side reads the first message back
// later, it must not be saved after all, in no process and not after a restart.
func TestWhatWasDeclinedIsNotSavedLater(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		faults := 1
		b, err := bot.New(t.Context(), bot.Config{Store: r.store, Front: r.chat, Clock: func() time.Time { return r.now }, Log: r.Log,
			Step: func(step string) {
				if step == "ran" && faults > 0 {
					faults--
					panic("a fault")
				}
			}})
		if err != nil {
			t.Fatal(err)
		}
		stands, first := r.live(t), r.message("note 7: ice")
		again := first
		again.Message += "b"
		q := bot.NewQueue(t.Context(), b, 10)
		for _, in := range []bot.Inbound{first, again, first} {
			q.Submit(in)
			q.Wait()
		}
		wants(t, strings.Join(r.chat.texts(), "\n"), "nothing was saved")
		if err := r.Handle(t.Context(), first); err != nil { // another process reads it back
			t.Fatal(err)
		}
		if n := r.live(t); n != stands+1 {
			t.Errorf("%d entries stand, %d before the message that was sent twice", n, stands)
		}
	})
}

// A process that is told to stop still says what it has written, also what waits behind something that is
// being sent.
func TestWhatIsWrittenIsSaidBeforeAStop(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		before := len(r.chat.shown(bot.StaffRoom))
		r.put(t, "notice", bot.StaffRoom, numbered("k", 5)...)
		ctx, stop := context.WithCancel(t.Context())
		r.chat.slow = func(ctx context.Context, m bot.Message) {
			if m.Key == "k0" {
				r.put(t, "reply", bot.StaffRoom, "late")
				stop()
			}
			if err := ctx.Err(); err != nil {
				t.Errorf("the sending of %s was cut off: %v", m.Key, err)
			}
		}
		r.Deliver(ctx, 2, nil)
		same(t, "said", r.chat.shown(bot.StaffRoom)[before:], append(numbered("k", 5), "late"))
	})
}
