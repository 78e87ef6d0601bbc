package bot_test

import (
	"strings"
	"sync"
	"testing"
	"time"

	"footing/bot"
	"footing/rehab"
	"footing/store"
	"footing/store/storetest"
)

const cleared = "sprain 7 left match tender none, walked, walks, circulation ok, squeeze -, er -, no modifiers"

func each(t *testing.T, f func(t *testing.T, r *rig)) {
	t.Helper()
	storetest.Each(t, func(t *testing.T, c store.Config) { f(t, newRig(t, c)) })
}

func TestTheSameEventTwiceCountsOnce(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		in := r.message("sprain 7 left")
		r.send(t, in)
		stands := r.live(t)
		if again := r.send(t, in); again != "" {
			t.Errorf("a repeated event was answered: %s", again)
		}
		if n := r.live(t); n != stands {
			t.Errorf("%d entries stand after the repeat, %d before", n, stands)
		}
	})
}

func TestAStaleEditLoses(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		in := r.message("test 7 pain-walking 5")
		r.send(t, in)
		late := in
		late.Kind, late.Text, late.Sent = bot.Edited, "test 7 pain-walking 2", r.now.Add(time.Minute)
		stale := in
		stale.Kind, stale.Text, stale.Sent = bot.Edited, "test 7 pain-walking 9", r.now.Add(time.Second)
		wants(t, r.send(t, late), "pain-walking 2")
		if said := r.send(t, stale); said != "" {
			t.Errorf("the stale edit was answered: %s", said)
		}
		if said := r.send(t, late); said != "" {
			t.Errorf("the repeated edit was answered: %s", said)
		}
		wants(t, r.say(t, "undo"), "pain-walking 2")
	})
}

func TestOnlyItsAuthorEditsAMessage(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		in := r.message("test 7 pain-walking 5")
		r.send(t, in)
		in.Kind, in.Author, in.Sent = bot.Edited, "kim", r.now.Add(time.Minute)
		if said := r.send(t, in); said != "" {
			t.Errorf("someone else's edit was taken: %s", said)
		}
		wants(t, r.say(t, "undo"), "pain-walking 5")
	})
}

// A hold lifted on evidence stays lifted when the message that raised it is edited for something
// else, and a new finding in that edit holds at once.
func TestEditingUnderALiftedHold(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		in := r.message("sprain 7 left match tender bone-outer, walked, walks, circulation ok, squeeze -, er -, no modifiers")
		r.send(t, in)
		r.say(t, "lift-hold 7 lateral: films clear")
		edit := func(text string) string {
			e := in
			r.now = r.now.Add(time.Minute)
			e.Kind, e.Text, e.Sent = bot.Edited, text, r.now
			return r.send(t, e)
		}
		if said := edit(strings.Replace(in.Text, "match", "training", 1)); strings.Contains(said, "HELD") {
			t.Errorf("restating the finding held the ankle again:\n%s", said)
		}
		wants(t, edit(in.Text+", deformity"), "EMERGENCY")
		wants(t, r.say(t, "advance 7: coach wants her"), "held: deformity")
	})
}

func TestButtons(t *testing.T) {
	coach := []rehab.Role{rehab.Coach}
	for name, f := range map[string]func(t *testing.T, r *rig){
		"pressed twice, it counts once": func(t *testing.T, r *rig) {
			r.say(t, "sprain 7 match")
			wants(t, r.press(t, "Left", "sam", medical), "left ankle sprain")
			wants(t, r.press(t, "Left", "sam", medical), "answered already")
			wants(t, r.press(t, "Right", "sam", medical), "answered already")
		},
		"pressed late, it has expired": func(t *testing.T, r *rig) {
			r.say(t, "sprain 7 match")
			r.now = r.now.Add(13 * time.Hour)
			wants(t, r.press(t, "Left", "sam", medical), "expired")
		},
		"pressed by the wrong person, it does nothing": func(t *testing.T, r *rig) {
			r.say(t, "sprain 7 match")
			wants(t, r.press(t, "Left", "lee", coach), "for someone else")
			wants(t, r.press(t, "Left", "sam", medical), "left ankle sprain")
		},
		"pressed after the role was taken away, it is refused": func(t *testing.T, r *rig) {
			r.say(t, "sprain 7 match")
			wants(t, r.press(t, "Left", "sam", coach), "You may not use sprain")
		},
		"another of the medical staff may answer": func(t *testing.T, r *rig) {
			r.say(t, "sprain 7 match")
			wants(t, r.press(t, "Left", "kim", medical), "left ankle sprain")
		},
		"a made-up token is not one of ours": func(t *testing.T, r *rig) {
			wants(t, r.press(t, "no such label", "sam", medical), "not one of mine")
		},
		"the answer keeps the time of the question": func(t *testing.T, r *rig) {
			r.say(t, "sprain 7 match")
			r.now = r.now.Add(3 * time.Hour)
			wants(t, r.press(t, "Left", "sam", medical), "Mon 2 Mar 18:00")
		},
		"a stale card decides nothing and shows the new state": func(t *testing.T, r *rig) {
			r.say(t, cleared)
			r.now = r.now.Add(14 * time.Hour)
			r.say(t, "morning 7 pain 1 same")
			wants(t, r.say(t, "test 7 gait limp, pain-walking 2, balance L 14"), "All criteria for Load are met")
			r.say(t, "screen 7 squeeze")
			said := r.press(t, "Advance", "sam", medical)
			wants(t, said, "Something changed since that card; nothing was decided.")
			wants(t, said, "Suspected high ankle sprain")
		},
		"a fresh card decides": func(t *testing.T, r *rig) {
			r.say(t, cleared)
			r.now = r.now.Add(14 * time.Hour)
			r.say(t, "morning 7 pain 1 same")
			r.say(t, "test 7 gait limp, pain-walking 2, balance L 14")
			wants(t, r.press(t, "Advance", "sam", medical), "Settle → Load, all criteria met")
			wants(t, r.press(t, "Advance", "sam", medical), "answered already")
		},
		"an unknown word can be kept as a note": func(t *testing.T, r *rig) {
			wants(t, r.say(t, "test 7 wobble 3"), "“wobble”")
			wants(t, r.press(t, "Keep as note", "sam", medical), "7 Mere Tau: Note kept.")
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			each(t, f)
		})
	}
}

// A message the chat side refuses is not lost: it goes out when it is due again, once.
func TestASendThatFailsIsTriedAgain(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.chat.fails = 2
		if said := r.say(t, "sprain 7 left"); said != "" {
			t.Fatalf("said although the chat side is away: %s", said)
		}
		for range 5 {
			r.now = r.now.Add(10 * time.Second)
			if err := r.Tick(t.Context()); err != nil {
				t.Fatal(err)
			}
		}
		n := 0
		for _, text := range r.chat.texts() {
			if strings.Contains(text, "left ankle sprain") {
				n++
			}
		}
		if n != 1 {
			t.Errorf("the reply was read %d times", n)
		}
	})
}

// When the transaction fails, the author is told so in one fixed sentence and nothing stands.
func TestAFailedTransactionSavesNothingAndSaysSo(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		before := len(r.chat.texts())
		if err := r.store.Close(); err != nil {
			t.Fatal(err)
		}
		if err := r.Handle(t.Context(), r.message("sprain 7 left")); err == nil {
			t.Error("no error came back from a closed database")
		}
		said := strings.Join(r.chat.texts()[before:], "\n")
		if said != "medical: That did not work and nothing was saved. Please send it again in a minute." {
			t.Errorf("said: %s", said)
		}
	})
}

func TestBadCharactersAreRefusedWhole(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		stands := r.live(t)
		for _, text := range []string{"sprain 7 left\x00", "note 7: \xff\xfe", strings.Repeat("sprain 7 left\n", 41), "note 7: " + strings.Repeat("x", 5000)} {
			wants(t, r.say(t, text), "othing was saved")
		}
		if n := r.live(t); n != stands {
			t.Errorf("%d entries stand, %d before", n, stands)
		}
	})
}

// One author's messages are handled in the order they came; a full lane says so and saves nothing.
func TestQueueKeepsOrderAndSaysWhenItIsFull(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		q := bot.NewQueue(t.Context(), r.Bot, 100)
		for _, in := range r.messages("sprain 7 left", "screen 7 tender none", "screen 7 walked, walks", "test 7 gait limp", "undo", "undo") {
			q.Submit(in)
		}
		q.Wait()
		texts := r.chat.texts()
		wants(t, texts[len(texts)-2], "Undone: 7 Mere Tau: gait limp")
		wants(t, texts[len(texts)-1], "Undone: 7 Mere Tau: four steps at the time, four steps now")
	})
	r := newRig(t, storetest.SQLite(t))
	gate := make(chan struct{})
	b, err := bot.New(t.Context(), bot.Config{Store: r.store, Front: r.chat, Clock: func() time.Time { return r.now }, Log: r.Log,
		Step: func(step string) {
			if step == "received" {
				<-gate
			}
		}})
	if err != nil {
		t.Fatal(err)
	}
	q := bot.NewQueue(t.Context(), b, 1)
	full := 0
	for _, in := range r.messages("sprain 7 left", "sprain 7 left", "sprain 7 left", "sprain 7 left", "sprain 7 left") {
		if !q.Submit(in) {
			full++
		}
	}
	close(gate)
	q.Wait()
	if full == 0 {
		t.Error("the lane never filled")
	}
	wants(t, strings.Join(r.chat.texts(), "\n"), "Busy: nothing was saved.")
}

// A fault in one event does not end the others.
func TestAPanicIsContained(t *testing.T) {
	r := newRig(t, storetest.SQLite(t))
	var once sync.Once
	b, err := bot.New(t.Context(), bot.Config{Store: r.store, Front: r.chat, Clock: func() time.Time { return r.now }, Log: r.Log,
		Step: func(step string) {
			if step == "ran" {
				once.Do(func() { panic("a fault") })
			}
		}})
	if err != nil {
		t.Fatal(err)
	}
	q := bot.NewQueue(t.Context(), b, 10)
	var failed error
	q.OnError = func(err error) { failed = err }
	for _, in := range r.messages("sprain 7 left", "sprain 12 left") {
		q.Submit(in)
	}
	q.Wait()
	said := strings.Join(r.chat.texts(), "\n")
	wants(t, said, "That did not work and nothing was saved")
	wants(t, said, "12 Joss Okafor, left ankle sprain")
	if failed == nil {
		t.Error("the fault was not reported")
	}
}
