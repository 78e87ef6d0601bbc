package discord_test

import (
	"cmp"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"footing/bot/discord/discordtest"
	"footing/store"
	"footing/store/storetest"
)

const (
	speedSquad = 20
	// betweenLines keeps what goes by the route of messages below the limit of requests a second, which is not
	// what is measured here. Answers to interactions are exempt from it.
	betweenLines = 25 * time.Millisecond
)

// deed is one thing that somebody in the medical room does, of which the answer is timed.
type deed struct {
	what  string
	paced bool // its answer is a message of its own
	do    func(w *watched, n int) moments
}

// deeds are done one after the other, again and again: two records by line, two by command, one reading of all
// there is of an athlete, and one button.
var deeds = []deed{
	{"line, note", true, func(w *watched, n int) moments {
		return w.line(w.sam, fmt.Sprintf("note %d: seen the %dth time", 1+n%speedSquad, n))
	}},
	{"line, test", true, func(w *watched, n int) moments {
		return w.line(w.sam, fmt.Sprintf("test %d knee-to-wall L 9.5 R 12 note: the %dth", 1+n%speedSquad, n))
	}},
	{"slash, ready", false, func(w *watched, n int) moments {
		return w.slash(w.sam, "ready", discordtest.Opts{"athlete": strconv.Itoa(1 + n%speedSquad)})
	}},
	{"slash, morning", false, func(w *watched, n int) moments {
		return w.slash(w.sam, "morning", discordtest.Opts{"athlete": strconv.Itoa(1 + n%speedSquad), "pain": 2, "swelling": "same"})
	}},
	{"slash, note", false, func(w *watched, n int) moments {
		return w.slash(w.sam, "note", discordtest.Opts{"athlete": strconv.Itoa(1 + n%speedSquad), "text": "seen"})
	}},
	{"press, undo", false, func(w *watched, _ int) moments { return w.undo(w.sam) }},
}

// Time from a gateway event to the request that carries its answer, against the same statements in a bare
// transaction on a database that is the same. Blocks of the bot and of the bare transactions take turns.
// FOOTING_SPEED is how many blocks of each deed; without it a short run judges only what is no time: that the bare
// transactions do the same work to the row, and that nothing else stands between an event and its answer.
func TestSpeed(t *testing.T) {
	rounds, _ := strconv.Atoi(os.Getenv("FOOTING_SPEED"))
	for _, engine := range []string{"sqlite", "postgres"} {
		t.Run(engine, func(t *testing.T) {
			fresh := func() store.Config {
				c := map[string]func(testing.TB) store.Config{"sqlite": storetest.SQLite, "postgres": storetest.Postgres}[engine](t)
				c.Fast = rounds == 0 // else as in production
				return c
			}
			w, all := speed(t, fresh, cmp.Or(rounds, 2))
			if rounds == 0 {
				return
			}
			t.Logf("%s, ms\n%s\nparts at the median, ms\n%s", engine, ratios(all), breakdown(all))
			w.stop()
			t.Log(together(t, fresh()))
		})
	}
}

func speed(t *testing.T, fresh func() store.Config, rounds int) (*watched, map[string][]timing) {
	t.Helper()
	bare, text := newTwin(t, fresh(), true), newTwin(t, fresh(), false)
	w := watch(t, fresh(), speedSquad)
	before := w.tape.take() // what made the squad
	again(t, before, bare)
	again(t, before, text)
	all := map[string][]timing{}
	for round := range rounds {
		for _, d := range deeds {
			all[d.what] = append(all[d.what], block(w, d, round, bare, text)...)
		}
	}
	return w, all
}

// perBlock is how often a deed is done before the twins have their turn.
const perBlock = 3

// block has the bot do a deed some times, and then the twins.
func block(w *watched, d deed, round int, bare, text *twin) []timing {
	w.t.Helper()
	pace := time.NewTicker(betweenLines)
	defer pace.Stop()
	turn := func() { // waits alike for the bot and for the twins
		if d.paced {
			<-pace.C
		}
	}
	did, now := make([][]store.Transaction, perBlock), make([]timing, perBlock)
	for i := range perBlock {
		turn()
		at := d.do(w, round*perBlock+i)
		did[i] = w.tape.take()
		now[i] = parts(at, did[i])
		straight(w.t, d, at, did[i])
	}
	for i := range perBlock {
		turn()
		now[i].bare = again(w.t, did[i], bare)
	}
	for i := range perBlock {
		turn()
		now[i].text = again(w.t, did[i], text)
	}
	return now
}

// again runs transactions on a twin and gives how long that of the event took. What came of each statement must
// be what came of it for the bot: else it would be other work that is compared.
func again(t *testing.T, did []store.Transaction, w *twin) (took time.Duration) {
	t.Helper()
	for _, x := range did {
		each, rows := w.play(x)
		if ofEvent(x) {
			took += each
		}
		for i, s := range x.Statements {
			besides := !ofEvent(x) && strings.HasPrefix(s.Text, "SELECT") // read at any moment, by what goes on by itself
			if rows[i] != s.Rows && !besides {
				t.Fatalf("%d rows for the bot and %d on the twin: %s", s.Rows, rows[i], s.Text)
			}
		}
	}
	return took
}

// straight fails when an event cost more than a look at its team, its transaction, the mark that its answer was
// sent, and a look whether more waits; or when the answer had to wait for anything after the commit.
func straight(t *testing.T, d deed, at moments, did []store.Transaction) {
	t.Helper()
	if len(did) != 4 {
		t.Errorf("%s took %d turns at the database", d.what, len(did))
	}
	for _, x := range did {
		if x.Began.After(at["committed"]) && x.Began.Before(at["answered"]) {
			t.Errorf("%s: the database was asked between the commit and the answer: %+v", d.what, x.Statements)
		}
	}
}

// together has many people use the bot at once, and says how many events it handles a second.
func together(t *testing.T, db store.Config) string {
	t.Helper()
	const people, events = 50, 2000
	c := gather(t, db, people)
	c.run(events / 4)
	began := time.Now()
	c.run(events)
	return fmt.Sprintf("%d people at once: %.0f events a second", people, events/time.Since(began).Seconds())
}
