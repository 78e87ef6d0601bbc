package main

import (
	"fmt"
	"io"
	"log/slog"
	"testing"
	"time"

	"footing/bot"
	"footing/store"
	"footing/store/storetest"
)

var (
	quiet       = slog.New(slog.NewTextHandler(io.Discard, nil))
	auckland, _ = time.LoadLocation("Pacific/Auckland")
)

// Several processes on one database. Two of three people's messages, edits and presses stream in while one
// that only delivers and then the one with the gateway are killed: the others take over, everything is
// answered, and nothing happens twice.
func TestSeveralProcesses(t *testing.T) {
	for _, n := range []int{2, 4} {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			t.Parallel()
			l := newLeague(t, storetest.Postgres(t))
			leader := l.serve()
			l.begin(1)
			others := []*proc{}
			for range n - 1 {
				others = append(others, l.serve())
			}
			first := l.everybody("before", 4)
			first[0].edits("note 7: put otherwise")
			if n > 2 {
				others[0].kill()
				others = others[1:]
			}
			first[1].undoes()
			l.everybody("with the leader", 3)
			leader.kill()
			second := l.everybody("without a leader", 3)
			second[1].edits("note 7: put otherwise without a leader")
			l.later(store.LeaseTime + time.Second)
			until(t, "another gateway", func() bool { return l.w.Gateway().Live() == 1 })
			third := l.everybody("with another", 2)
			second[2].undoes()
			third[0].undoes()
			l.quiet(0)
			last := l.everybody("once it is quiet", 2)
			last[0].undoes()
			l.quiet(0)
			late := l.serve() // one more at the end changes nothing
			for _, p := range others {
				p.stop()
			}
			until(t, "the late one's gateway", func() bool { return l.w.Gateway().Live() == 1 })
			l.everybody("at last", 1)
			l.quiet(0)
			late.stop()
			l.audit()
		})
	}
}

// A process killed at each step of a message's path, then another in its place.
func TestKilledAtEveryStep(t *testing.T) {
	if testing.Short() {
		t.Skip("seconds for each step")
	}
	for _, step := range bot.Steps {
		t.Run(step, func(t *testing.T) {
			t.Parallel()
			storetest.Each(t, func(t *testing.T, db store.Config) {
				l := newLeague(t, db)
				first := l.serve(envDie + "=" + step + ":6") // two of them fill the rosters
				l.begin(1)
				before := l.everybody("before", 2)
				before[0].edits("note 7: put otherwise")
				first.killed()
				l.everybody("while nobody serves", 1)
				l.later(store.LeaseTime + time.Second)
				second := l.serve()
				until(t, "another gateway", func() bool { return l.w.Gateway().Live() == 1 })
				before[2].undoes()
				l.quiet(0)
				second.stop()
				l.audit()
			})
		})
	}
}
