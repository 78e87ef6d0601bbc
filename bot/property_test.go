package bot_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"footing/bot"
	"footing/store"
	"footing/store/storetest"
)

// history is a team's chat and its bot, with a model of what must hold of them whatever happens.
type history struct {
	*rig
	t      *testing.T
	events []bot.Inbound // in the order the chat side has them
	fuse   int           // steps until the process dies; negative for never
	died   map[string]int
	step   string // the step it last took
}

// authors write notes in one place each; a slash command's answer is for its author alone.
var authors = []struct {
	name, answer string
	place        bot.Place
}{{"sam", "", bot.MedicalRoom}, {"kim", "", bot.MedicalRoom}, {"ali", "interaction", bot.OnlyTo("ali")}}

// begin starts the process, as after a crash: the clock then is past the dead one's leases on an engine
// where others might still hold them.
func (h *history) begin() {
	h.fuse = -1
	h.Bot = h.process(h.t, h.store, func() time.Time { return h.now }, func(name string) {
		h.step = name
		if h.fuse--; h.fuse == 0 {
			panic(errCrash)
		}
	})
}

// live does something that the process may die of. After a death it starts anew and the front hands over
// again, in order, what the chat side has; of that it may die once more.
func (h *history) live(rt *rapid.T, what func() error) {
	h.fuse = rapid.IntRange(-20, 20).Draw(rt, "dies after steps")
	for crash(func() {
		if err := what(); err != nil {
			rt.Fatal(err)
		}
	}) {
		h.died[h.step]++
		h.begin()
		h.fuse = rapid.IntRange(-20, 20).Draw(rt, "dies again after steps")
		what = h.catchUp
	}
	h.fuse = -1
	h.acknowledgedIsStored(rt)
}

func (h *history) catchUp() error {
	for _, in := range h.events {
		if err := h.Handle(h.t.Context(), in); err != nil {
			return err
		}
	}
	return nil
}

// write is a new message of an author.
func (h *history) write(rt *rapid.T) {
	a := rapid.SampledFrom(authors).Draw(rt, "author")
	in := h.message(fmt.Sprintf("note 7: %s %d", a.name, len(h.events)))
	in.Message = fmt.Sprintf("h%03d", len(h.events))
	in.Author, in.Place, in.Answer = a.name, a.place, a.answer
	h.events = append(h.events, in)
	h.live(rt, func() error { return h.Handle(h.t.Context(), in) })
}

func (h *history) repeat(rt *rapid.T) {
	if len(h.events) > 0 {
		in := rapid.SampledFrom(h.events).Draw(rt, "event")
		h.live(rt, func() error { return h.Handle(h.t.Context(), in) })
	}
}

func (h *history) wait(rt *rapid.T) {
	h.now = h.now.Add(time.Duration(rapid.IntRange(1, 300).Draw(rt, "seconds")) * time.Second)
	h.live(rt, func() error { return h.Drain(h.t.Context()) })
}

func (h *history) trouble(rt *rapid.T) {
	h.chat.fails, h.chat.loses = rapid.IntRange(0, 3).Draw(rt, "sends fail"), rapid.IntRange(0, 3).Draw(rt, "answers are lost")
}

func (h *history) stored() map[string]int {
	out := map[string]int{}
	err := h.store.Do(h.t.Context(), h.now, func(tx *store.Tx) error {
		team, err := tx.Team(h.t.Context(), club)
		if err != nil {
			return err
		}
		if err := tx.Enter(h.t.Context(), team.ID); err != nil {
			return err
		}
		all, err := tx.TeamEntries(h.t.Context())
		for _, list := range all {
			for _, e := range list {
				out[e.Source]++
			}
		}
		return err
	})
	if err != nil {
		h.t.Fatal(err)
	}
	return out
}

// answers lists the messages answered at a place, in the order in which the answers were shown.
func (h *history) answers(p bot.Place) (out []string) {
	for _, key := range h.chat.shown(p) {
		if parts := strings.Split(key, "/"); len(parts) == 4 && strings.HasPrefix(parts[2], "h") {
			out = append(out, parts[2])
		}
	}
	return out
}

func (h *history) acknowledgedIsStored(rt *rapid.T) {
	stored := h.stored()
	for _, m := range h.answers("") {
		if stored[m] != 1 {
			rt.Fatalf("%s is acknowledged and stored %d times", m, stored[m])
		}
	}
}

// recover ends all trouble: everything is handed over once more, and time passes.
func (h *history) recover(rt *rapid.T) {
	h.chat.fails, h.chat.loses, h.fuse = 0, 0, -1
	if err := h.catchUp(); err != nil {
		rt.Fatal(err)
	}
	for range 3 {
		h.now = h.now.Add(10 * time.Minute)
		if err := h.Drain(h.t.Context()); err != nil {
			rt.Fatal(err)
		}
	}
}

// check is what must hold in the end: every event had one effect and one visible answer, and each author's
// answers came in the order of their messages.
func (h *history) check(rt *rapid.T) {
	h.acknowledgedIsStored(rt)
	stored, said := h.stored(), h.answers("")
	for _, in := range h.events {
		if stored[in.Message] != 1 {
			rt.Fatalf("%s is stored %d times", in.Message, stored[in.Message])
		}
		n := 0
		for _, m := range said {
			if m == in.Message {
				n++
			}
		}
		if n != 1 {
			rt.Fatalf("%s is answered %d times", in.Message, n)
		}
	}
	for _, a := range authors {
		for _, p := range []bot.Place{a.place, bot.DirectTo(a.name)} { // an answer that came late is a direct message
			got := slices.DeleteFunc(h.answers(p), func(m string) bool { return h.by(m) != a.name })
			if !slices.IsSorted(got) {
				rt.Fatalf("at %s %s was answered in this order: %v", p, a.name, got)
			}
		}
	}
}

func (h *history) by(message string) string {
	for _, in := range h.events {
		if in.Message == message {
			return in.Author
		}
	}
	return ""
}

// Whatever the order of messages, repeats, crashes between any two steps, restarts, failed sends and lost
// answers: what is acknowledged is stored; in the end nothing is lost, nothing has two effects, nothing is
// seen twice, and each author is answered in order. The chat side knows a key again only when it is read
// back for a second send that says it is one.
func TestWhateverHappensNothingIsLostOrSaidTwice(t *testing.T) {
	for _, engine := range []struct {
		name  string
		fresh func(testing.TB) store.Config
		most  int // histories: to make a database is most of the work on PostgreSQL
	}{{"sqlite", storetest.SQLite, 100}, {"postgres", storetest.Postgres, 15}} {
		t.Run(engine.name, func(t *testing.T) {
			t.Parallel()
			if raced {
				engine.most /= 5
			}
			engine.fresh(t) // leaves the engine out here, not in the middle of a history
			died, n := map[string]int{}, 0
			rapid.Check(t, func(rt *rapid.T) {
				if n++; n <= engine.most {
					liveOut(t, rt, engine.fresh(t), died)
				}
			})
			for _, step := range bot.Steps {
				if died[step] == 0 && engine.most == 100 { // enough of them to be sure
					t.Errorf("the process never died at %q", step)
				}
			}
			t.Logf("deaths by step: %v", died)
		})
	}
}

// liveOut lets one history happen.
func liveOut(t *testing.T, rt *rapid.T, c store.Config, died map[string]int) {
	h := &history{rig: newRig(t, c), t: t, died: died}
	defer func() { _ = h.store.Close() }()
	h.chat.forgetful = true
	h.begin()
	rt.Repeat(map[string]func(*rapid.T){"write": h.write, "repeat": h.repeat, "wait": h.wait, "trouble": h.trouble})
	h.recover(rt)
	h.check(rt)
}
