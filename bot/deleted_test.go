package bot_test

import (
	"strconv"
	"strings"
	"testing"
	"time"

	"footing/bot"
	"footing/store"
	"footing/store/storetest"
)

// Nobody is told of a deletion that was not taken, for a full lane or a fault: whoever reads the room did not ask for
// anything.
func TestADeletionIsNeverDeclined(t *testing.T) {
	storetest.Each(t, func(t *testing.T, db store.Config) {
		r := newRig(t, db)
		gate, faults := make(chan struct{}), 2
		b, err := bot.New(t.Context(), bot.Config{Store: r.store, Front: r.chat, Clock: func() time.Time { return r.now }, Log: r.Log,
			Step: func(step string) {
				if step == "received" {
					<-gate
				}
				if step == "claimed" && faults > 0 {
					faults--
					panic("a fault")
				}
			}})
		if err != nil {
			t.Fatal(err)
		}
		said := len(r.chat.texts())
		q := bot.NewQueue(t.Context(), b, 1)
		full := 0
		for i := range 5 {
			in := r.message("")
			in.Kind, in.Author, in.Message = bot.Deleted, "someone", strconv.Itoa(i)
			if !q.Submit(in) {
				full++
			}
		}
		if full == 0 {
			t.Error("the lane never filled")
		}
		close(gate)
		q.Wait()
		if more := r.chat.texts()[said:]; len(more) > 0 {
			t.Errorf("said %q", strings.Join(more, "\n"))
		}
	})
}
