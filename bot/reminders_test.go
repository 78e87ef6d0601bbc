package bot_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"footing/bot"
	"footing/rehab"
	"footing/store"
)

const sound = "sprain 7 left tender none, walked, walks, circulation ok, squeeze -, er -, no modifiers"

// linked is a rig whose 7 is treated, linked and agreed, on the evening of Monday 2 March in Auckland.
func (r *rig) linked(t *testing.T) {
	t.Helper()
	r.say(t, sound)
	if err := r.Link(t.Context(), club, "mere", 7); err != nil {
		t.Fatal(err)
	}
	r.tick(t)
}

func (r *rig) tick(t *testing.T) {
	t.Helper()
	if err := r.Tick(t.Context()); err != nil {
		t.Fatal(err)
	}
}

// auckland is a time on a day of March 2026.
func auckland(day int, clock string) time.Time {
	zone, err := time.LoadLocation("Pacific/Auckland")
	if err != nil {
		panic(err)
	}
	at, err := time.ParseInLocation("15:04", clock, zone)
	if err != nil {
		panic(err)
	}
	return time.Date(2026, 3, day, at.Hour(), at.Minute(), 0, 0, zone)
}

// occurrences lists "what date outcome" of the days after the first, in order.
func (r *rig) occurrences(t *testing.T) []string {
	t.Helper()
	rows, err := r.store.DB().Query(`SELECT what, local_date, outcome FROM occurrences WHERE local_date > '2026-03-02' ORDER BY local_date, what`)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = rows.Close() }()
	var out []string
	for rows.Next() {
		var what, date, outcome string
		if err := rows.Scan(&what, &date, &outcome); err != nil {
			t.Fatal(err)
		}
		out = append(out, strings.Fields(what)[0]+" "+date[len("2026-"):]+" "+outcome)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return out
}

// dm lists what 7 was sent unasked: the first words of each.
func (r *rig) dmsTo7() []string {
	var out []string
	for _, text := range r.chat.texts() {
		if rest, ok := strings.CutPrefix(text, "@mere: "); ok {
			out = append(out, strings.Join(strings.Fields(rest)[:2], " "))
		}
	}
	return out
}

func equal(t *testing.T, what string, got, want []string) {
	t.Helper()
	if !slices.Equal(got, want) {
		t.Errorf("%s: %q\nwant %q", what, got, want)
	}
}

// A day as it comes: each thing once, however often the process is restarted.
func TestADayOfReminders(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.linked(t)
		for r.now = auckland(3, "06:50"); r.now.Before(auckland(3, "07:50")); r.now = r.now.Add(time.Minute) { // a restart at every minute of the report's hour
			r.start(t)
			r.tick(t)
		}
		for ; r.now.Before(auckland(4, "01:00")); r.now = r.now.Add(20 * time.Minute) {
			r.start(t)
			r.tick(t)
		}
		equal(t, "7 was sent", r.dmsTo7(), []string{"This morning,", "7 Mere", "Your 10"})
		equal(t, "what happened", r.occurrences(t), []string{"clinic 03-03 sent", "drills 03-03 sent", "morning 03-03 sent", "nudge 03-03 sent", "report 03-03 sent"})
	})
}

// Two and four processes look at once: each thing is written once.
func TestManyProcessesLookAtOnce(t *testing.T) {
	for _, n := range []int{2, 4} {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			each(t, func(t *testing.T, r *rig) {
				r.linked(t)
				r.now = auckland(3, "07:40")
				var bots []*bot.Bot
				for range n {
					r.start(t)
					bots = append(bots, r.Bot)
				}
				for range 3 {
					var all sync.WaitGroup
					for _, b := range bots {
						all.Go(func() {
							if err := b.Schedule(context.WithoutCancel(t.Context())); err != nil {
								t.Error(err)
							}
						})
					}
					all.Wait()
				}
				r.tick(t)
				equal(t, "what happened", r.occurrences(t), []string{"clinic 03-03 sent", "morning 03-03 sent", "report 03-03 sent"})
				equal(t, "7 was sent", r.dmsTo7(), []string{"This morning,"})
				if got := reports(r); len(got) != 1 {
					t.Errorf("reports: %q", got)
				}
			})
		})
	}
}

// A clock that jumps three days ahead: what is past its grace is missed and told once to each room; nothing comes
// at the wrong time. When it jumps back nothing comes again.
func TestTheClockJumps(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.linked(t)
		r.now = auckland(3, "08:00")
		r.tick(t)
		before := len(r.chat.texts())
		r.now = r.now.Add(72 * time.Hour)
		r.tick(t)
		equal(t, "what happened", r.occurrences(t), []string{
			"clinic 03-03 sent", "drills 03-03 missed", "morning 03-03 sent", "nudge 03-03 missed", "report 03-03 sent",
			"clinic 03-04 missed", "drills 03-04 missed", "morning 03-04 missed", "nudge 03-04 missed", "report 03-04 missed",
			"clinic 03-05 missed", "drills 03-05 missed", "morning 03-05 missed", "nudge 03-05 missed", "report 03-05 missed",
			"clinic 03-06 sent", "morning 03-06 sent", "report 03-06 sent",
		})
		told := r.chat.texts()[before:]
		if len(told) != 5 { // report, clinic list, question; a word to each room
			t.Errorf("said %q", told)
		}
		at, n := r.occurrences(t), len(r.chat.texts())
		r.now = auckland(3, "08:30") // back
		for range 3 * 72 {
			r.tick(t)
			r.now = r.now.Add(20 * time.Minute)
		}
		for _, o := range at {
			if got := r.occurrences(t); !slices.Contains(got, o) {
				t.Errorf("%s was changed", o)
			}
		}
		for _, text := range r.chat.texts()[n:] {
			if !strings.Contains(text, "10 minutes") && !strings.Contains(text, "Mere Tau L,") {
				t.Errorf("said again: %s", text)
			}
		}
	})
}

// What somebody records in between neither brings anything late nor twice.
func TestNothingIsMadeUpFor(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.linked(t)
		r.now = auckland(3, "12:00")
		r.tick(t)
		r.say(t, "training tue 10:00 90min") // over already: its drills were due at 11:20
		r.now = auckland(3, "12:01")
		r.tick(t)
		r.say(t, "reminders drills 11:00")
		r.tick(t)
		if got := r.dmsTo7(); slices.Contains(got, "7 Mere") {
			t.Errorf("7 was sent %q", got)
		}
		if got := r.occurrences(t); slices.ContainsFunc(got, func(o string) bool { return strings.HasPrefix(o, "drills") }) {
			t.Errorf("what happened: %q", got)
		}
		r.now = auckland(4, "11:00")
		r.tick(t)
		if got := r.dmsTo7(); !slices.Contains(got, "7 Mere") {
			t.Errorf("7 was sent %q", got)
		}
	})
}

// A session moved after its reminder went out brings no second one that day; one moved before takes it along.
func TestASessionIsMoved(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.linked(t)
		r.say(t, "training tue 16:00 60min\ntraining wed 16:00 60min")
		r.now = auckland(3, "16:51")
		r.tick(t)
		r.say(t, "move training tue to 18:30")
		r.now = auckland(3, "19:21")
		r.tick(t)
		r.say(t, "move training wed to 17:30")
		r.now = auckland(4, "17:00")
		r.tick(t)
		drills := func() (n int) {
			for _, s := range r.dmsTo7() {
				if s == "7 Mere" {
					n++
				}
			}
			return n
		}
		if n := drills(); n != 1 {
			t.Errorf("%d cards of drills before the moved training ends", n)
		}
		r.now = auckland(4, "18:20")
		r.tick(t)
		if n := drills(); n != 2 {
			t.Errorf("%d cards of drills after two days", n)
		}
	})
}

// Who has not agreed, is not linked, refuses direct messages, is ill or travels, or left the squad, is not written to.
func TestWhoIsNotWrittenTo(t *testing.T) {
	for name, f := range map[string]func(t *testing.T, r *rig){
		"not linked": func(t *testing.T, r *rig) { r.say(t, "unlink 7") },
		"ill":        func(t *testing.T, r *rig) { r.say(t, "unavailable 7 illness until wed") },
		"travelling": func(t *testing.T, r *rig) { r.say(t, "modified 7 no running travel until wed") },
		"removed":    func(t *testing.T, r *rig) { r.say(t, "remove 7"); r.press(t, "Remove 7 Mere Tau", "sam", medical) },
		"closed":     func(t *testing.T, r *rig) { r.closed(t) },
		"withdrew":   func(t *testing.T, r *rig) { r.send(t, r.dm("mere", "withdraw")) },
		"off":        func(t *testing.T, r *rig) { r.say(t, "remind 7 off") },
		"a minor whose guardian has not agreed": func(t *testing.T, r *rig) {
			r.say(t, "change 7 born 2012-01-01\nguardian 7 withdrew")
		},
	} {
		t.Run(name, func(t *testing.T) {
			each(t, func(t *testing.T, r *rig) {
				r.linked(t)
				f(t, r)
				n := len(r.dmsTo7())
				for _, at := range []string{"07:01", "08:01", "17:01", "20:01"} {
					r.now = auckland(3, at)
					r.tick(t)
				}
				if got := r.dmsTo7()[n:]; len(got) > 0 {
					t.Errorf("7 was sent %q", got)
				}
			})
		})
	}
}

func (r *rig) closed(t *testing.T) {
	t.Helper()
	if err := r.KeepDirect(t.Context(), "mere", "dm", true); err != nil {
		t.Fatal(err)
	}
}

// Who never said yes or no is asked once more after three days, and then no more.
func TestConsentIsAskedForOnceMore(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.say(t, sound)
		if err := r.store.Do(t.Context(), r.now, func(tx *store.Tx) error {
			team, err := tx.Team(t.Context(), club)
			if err != nil {
				return err
			}
			if err := tx.Enter(t.Context(), team.ID); err != nil {
				return err
			}
			roster, err := tx.Athletes(t.Context())
			if err != nil {
				return err
			}
			m, err := tx.Member(t.Context(), "mere", nil)
			if err != nil {
				return err
			}
			if _, err := tx.Lock(t.Context(), roster[0].ID); err != nil {
				return err
			}
			return errors.Join(tx.Link(t.Context(), m.ID, roster[0].ID), tx.Append(t.Context(), []rehab.Entry{{Athlete: roster[0].ID, At: r.now, Source: "x", Body: rehab.Linked{Account: "mere"}}}))
		}); err != nil {
			t.Fatal(err)
		}
		for r.now = auckland(2, "18:00"); r.now.Before(auckland(9, "18:00")); r.now = r.now.Add(30 * time.Minute) {
			r.tick(t)
		}
		equal(t, "7 was sent", r.dmsTo7(), []string{"You have"})
		equal(t, "on the day", slices.DeleteFunc(r.occurrences(t), func(o string) bool { return !strings.HasPrefix(o, "consent") }), []string{"consent 03-05 sent"})
	})
}

// In two teams: each has its own, and says which team it is.
func TestRemindedByTwoTeams(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		twoTeams(t, r)
		r.tick(t)
		r.now = auckland(3, "07:01")
		r.tick(t)
		equal(t, "7 was sent", r.dmsTo7(), []string{"Harbour Kestrels:", "Night Bats:"})
	})
}

// One team whose settings are broken, or whose look panics, keeps no other team from its own.
func TestOneTeamsTroubleIsItsOwn(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.linked(t)
		if _, err := r.PutTeam(t.Context(), rehab.Team{Key: "first", Name: "First", Zone: "UTC", ReportAt: "07:30"}); err != nil {
			t.Fatal(err)
		}
		if _, err := r.store.DB().Exec(`UPDATE teams SET zone = 'Nowhere/Land' WHERE key = 'first'`); err != nil {
			t.Fatal(err)
		}
		r.now = auckland(3, "07:31")
		if err := r.Tick(t.Context()); err == nil {
			t.Error("nobody was told of the broken zone")
		}
		if got := reports(r); len(got) != 1 {
			t.Errorf("reports: %q", got)
		}
	})
}

// What is written of a team takes as many statements for a squad of 160 as for one of 10.
func TestAReportTakesTheSameStatements(t *testing.T) {
	count := func(squad int) int {
		var n int
		each(t, func(t *testing.T, r *rig) {
			var lines []string
			for shirt := 100; shirt < 100+squad; shirt++ {
				lines = append(lines, fmt.Sprintf("add %d Player Number%c%c", shirt, 'A'+(shirt-100)/26, 'a'+(shirt-100)%26))
			}
			for part := range slices.Chunk(lines, 40) {
				r.say(t, strings.Join(part, "\n"))
			}
			r.tick(t)
			r.now = auckland(3, "07:31")
			before := r.store.Statements()
			r.tick(t)
			n = int(r.store.Statements() - before)
		})
		return n
	}
	if small, large := count(10), count(160); small != large || small == 0 {
		t.Errorf("%d statements for 10, %d for 160", small, large)
	}
}
