package bot_test

import (
	"strings"
	"testing"
	"time"

	"footing/bot"
	"footing/store/storetest"
)

// While a file is taken somebody else gives one of its numbers away: nothing of it is kept, and whoever sent it
// reads so. (On SQLite nobody can come in between: one writes at a time.)
func TestAFileIsTakenWholeOrNotAtAll(t *testing.T) {
	r := newRig(t, storetest.Postgres(t))
	came := false
	b, err := bot.New(t.Context(), bot.Config{Store: r.store, Front: r.chat, Clock: func() time.Time { return r.now }, Log: r.Log,
		Step: func(step string) {
			if step == "ran" && !came {
				came = true
				add := r.message("add 33 Ana Reed")
				add.Author = "tia"
				if err := r.Handle(t.Context(), add); err != nil {
					t.Error(err)
				}
			}
		}})
	if err != nil {
		t.Fatal(err)
	}
	stands := r.live(t)
	in := r.file("import", "shirt,name\n31,Pia Lund\n32,Tui Marsh\n33,Ilse Brandt\n34,Kit Holm\n")
	if err := b.Handle(t.Context(), in); err == nil {
		t.Error("the file was taken")
	}
	texts := r.chat.texts()
	wants(t, texts[len(texts)-1], "nothing was saved")
	roster := r.say(t, "roster")
	if !strings.Contains(roster, "33 Ana Reed") || strings.Contains(roster, "Pia Lund") || strings.Contains(roster, "Kit Holm") {
		t.Errorf("the roster is\n%s", roster)
	}
	if n := r.live(t) - stands; n != 1 {
		t.Errorf("%d entries for one athlete added", n)
	}
	again := in
	again.Message += "b"
	wants(t, r.send(t, again), "Import: 3 added, 1 refused.")
}
