package bot_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"footing/bot"
	"footing/rehab"
	"footing/store"
)

// again is an event about a message that was sent before.
func (r *rig) about(t *testing.T, in bot.Inbound, kind bot.Kind, text string, roles []rehab.Role) string {
	t.Helper()
	r.now = r.now.Add(time.Minute)
	in.Kind, in.Text, in.Sent, in.Roles = kind, text, r.now, roles
	return r.send(t, in)
}

// as sends a message as somebody else of the medical staff.
func (r *rig) as(t *testing.T, author, text string) string {
	t.Helper()
	in := r.message(text)
	in.Author = author
	return r.send(t, in)
}

// athlete links an account to a shirt and gives its direct message.
func (r *rig) athlete(t *testing.T, shirt int, text string) bot.Inbound {
	t.Helper()
	if err := r.Link(t.Context(), club, "mere", shirt); err != nil {
		t.Fatal(err)
	}
	in := r.message(text)
	in.Author, in.Roles, in.Place = "mere", []rehab.Role{rehab.AthleteRole}, bot.DirectTo("mere")
	return in
}

const heldLine = "sprain 7 left match deformity"

// Each of these once left an ankle free, or free too far, while a red flag stood.
func TestARedFlagOutlastsEveryWayToLoseIt(t *testing.T) {
	for name, f := range map[string]func(t *testing.T, r *rig){
		"an edit that lost its text changes nothing": func(t *testing.T, r *rig) {
			in := r.message(heldLine)
			r.send(t, in)
			r.about(t, in, bot.Edited, " ", medical)
			wants(t, r.say(t, "ready 7"), "EMERGENCY")
		},
		"whoever lost the role cannot edit it away": func(t *testing.T, r *rig) {
			in := r.message("note 12: ice\n" + heldLine)
			r.send(t, in)
			r.about(t, in, bot.Edited, "note 12: ice\n ", []rehab.Role{rehab.Coach})
			wants(t, r.say(t, "ready 7"), "EMERGENCY")
		},
		"whoever lost the role cannot undo it": func(t *testing.T, r *rig) {
			r.say(t, heldLine)
			in := r.message("undo")
			in.Roles = []rehab.Role{rehab.AthleteRole}
			r.send(t, in)
			wants(t, r.say(t, "ready 7"), "EMERGENCY")
		},
		"an athlete does not lift the hold of an alarm": func(t *testing.T, r *rig) {
			r.say(t, cleared)
			in := r.athlete(t, 7, "morning pain 3 gave way")
			r.send(t, in)
			wants(t, r.about(t, in, bot.Edited, "morning pain 1 less", in.Roles), "only they can take it back")
			wants(t, r.send(t, r.athlete(t, 7, "undo")), "only they can take it back")
			wants(t, r.say(t, "ready 7"), "HELD")
		},
		"mending the words of an advance does not advance again": func(t *testing.T, r *rig) {
			r.say(t, cleared)
			in := r.message("advance 7: wel")
			r.send(t, in)
			r.say(t, "advance 7: strong")
			wants(t, r.about(t, in, bot.Edited, "advance 7: well", medical), "advance stands, reason now: well")
			wants(t, r.say(t, "ready 7"), "Control → Impact")
		},
		"mending the words of a lifted hold lifts nothing new": func(t *testing.T, r *rig) {
			bad := r.message("sprain 7 left match tender bone-outer, no bone-inner, no fifth-metatarsal, no navicular, walked, walks, circulation ok, squeeze -, er -, no modifiers")
			r.send(t, bad)
			lift := r.message("lift-hold 7 lateral: films claer")
			r.send(t, lift)
			r.about(t, bad, bot.Edited, bad.Text+", deformity", medical)
			r.about(t, lift, bot.Edited, "lift-hold 7 lateral: films clear", medical)
			wants(t, r.say(t, "ready 7"), "EMERGENCY")
		},
		"nor does it lift what time brought since": func(t *testing.T, r *rig) {
			r.say(t, "sprain 7 left match tender bone-outer, could-not-walk, cannot-walk")
			lift := r.message("lift-hold 7 lateral: films claer")
			r.send(t, lift)
			r.now = r.now.Add(80 * time.Hour)
			wants(t, r.say(t, "ready 7"), "still unable to load at 72 h")
			r.about(t, lift, bot.Edited, "lift-hold 7 lateral: films clear", medical)
			wants(t, r.say(t, "ready 7"), "still unable to load at 72 h")
		},
		"a sprain is not edited onto an ankle already under treatment": func(t *testing.T, r *rig) {
			r.say(t, cleared)
			in := r.message("sprain 7 right deformity")
			r.send(t, in)
			wants(t, r.about(t, in, bot.Edited, "sprain 7 left deformity", medical), "It stands.")
			wants(t, r.say(t, "ready 7 right"), "EMERGENCY")
		},
		"a new sprain is not edited to the other side": func(t *testing.T, r *rig) {
			r.say(t, cleared)
			r.now = r.now.Add(24 * time.Hour)
			in := r.message("sprain 7 left")
			r.send(t, in)
			r.press(t, "New sprain", "sam", medical)
			wants(t, r.about(t, in, bot.Edited, "sprain 7 right deformity", medical), "It stands.")
		},
		"a sprain that others built on is not edited to another athlete": func(t *testing.T, r *rig) {
			in := r.message("sprain 7 left")
			r.send(t, in)
			r.as(t, "kim", "screen 7 deformity")
			wants(t, r.about(t, in, bot.Edited, "sprain 12 left", medical), "Other records rest on that sprain")
			wants(t, r.say(t, "ready 7"), "EMERGENCY")
		},
		"nor undone": func(t *testing.T, r *rig) {
			r.say(t, cleared)
			r.now = r.now.Add(10 * time.Hour)
			r.as(t, "kim", heldLine)
			r.press(t, "New sprain", "kim", medical)
			wants(t, r.say(t, "undo"), "rest on that sprain")
			wants(t, r.say(t, "ready 7"), "EMERGENCY")
		},
		"an edit with other lines is not guessed at": func(t *testing.T, r *rig) {
			in := r.message("note 12: x\n" + heldLine)
			r.send(t, in)
			wants(t, r.about(t, in, bot.Edited, heldLine, medical), "I cannot tell which line is which")
			wants(t, r.say(t, "ready 7"), "EMERGENCY")
		},
		"a finding timed just before a new sprain still holds": func(t *testing.T, r *rig) {
			r.say(t, cleared)
			r.now = time.Date(2026, 3, 3, 5, 0, 0, 0, time.UTC) // 18:00 in Auckland
			r.say(t, "sprain 7 left")
			r.press(t, "New sprain", "sam", medical)
			r.now = r.now.Add(time.Hour)
			wants(t, r.say(t, "screen 7 deformity 17:55"), "EMERGENCY")
		},
		"another's lines are not undone with one's own": func(t *testing.T, r *rig) {
			r.say(t, "screen 7 deformity\nsprain 12 match")
			r.say(t, "sprain 7 left\nscreen 7 deformity\nsprain 12 match")
			r.press(t, "Left", "kim", medical)
			r.as(t, "kim", "undo")
			wants(t, r.say(t, "ready 7"), "EMERGENCY")
			wants(t, r.say(t, "ready 12"), "no ankle under treatment")
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			each(t, f)
		})
	}
}

// The same event may come late, early or without its fellows.
func TestEventsOutOfOrder(t *testing.T) {
	for name, f := range map[string]func(t *testing.T, r *rig){
		"an edit before its message wins": func(t *testing.T, r *rig) {
			in := r.message("test 7 pain-walking 5")
			wants(t, r.about(t, in, bot.Edited, "test 7 pain-walking 2", medical), "pain-walking 2")
			if said := r.send(t, in); said != "" {
				t.Errorf("the older text was taken: %s", said)
			}
		},
		"a deletion before its message is asked about": func(t *testing.T, r *rig) {
			in := r.message(heldLine)
			gone := in
			gone.Kind, gone.Text, gone.Author = bot.Deleted, "", "lee"
			r.send(t, gone)
			wants(t, r.send(t, in), "A message was deleted that recorded")
		},
		"an edited undo does not undo again": func(t *testing.T, r *rig) {
			r.say(t, "test 7 pain-walking 5")
			r.say(t, "test 7 pain-walking 2")
			in := r.message("undo")
			r.send(t, in)
			wants(t, r.about(t, in, bot.Edited, "Undo", medical), "does not undo again")
			wants(t, r.say(t, "undo"), "pain-walking 5")
		},
		"a card is stale when something was taken back": func(t *testing.T, r *rig) {
			r.say(t, cleared)
			r.as(t, "kim", "advance 7: early")
			r.say(t, "ready 7")
			r.as(t, "kim", "undo")
			wants(t, r.press(t, "Stay", "sam", medical), "Something changed since that card")
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			each(t, f)
		})
	}
}

// Outside the medical room a clinician is nobody's clinician.
func TestNoMedicalDetailInDirectMessages(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.say(t, heldLine)
		for _, text := range []string{"morning 7 pain 3", "ready 7", "undo", "plan 7", "7"} {
			in := r.message(text)
			in.Place = bot.DirectTo("sam")
			said := r.send(t, in)
			for _, word := range []string{"Mere", "left", "EMERGENCY", "deformity", "held"} {
				if strings.Contains(said, word) {
					t.Errorf("%q in a direct message says %q: %s", text, word, said)
				}
			}
		}
	})
}

// An account with the athlete's role but no athlete learns nobody's name.
func TestAnUnlinkedAccountLearnsNoNames(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		for _, text := range []string{"morning Mera pain 3", "morning 7 pain 3", "morning 55 pain 3", "mere", "7"} {
			in := r.message(text)
			in.Author, in.Roles, in.Place = "x", []rehab.Role{rehab.AthleteRole}, bot.DirectTo("x")
			if said := r.send(t, in); strings.Contains(said, "Tau") {
				t.Errorf("%q: %s", text, said)
			}
		}
	})
}

// stuckFront is a chat side on which one room cannot be reached.
type stuckFront struct {
	*chat
	room bot.Place
}

func (f stuckFront) Send(ctx context.Context, m bot.Message) (string, error) {
	if m.Place == f.room {
		return "", errors.New("no such room")
	}
	return f.chat.Send(ctx, m)
}

// One dead room starves no other, and one team's unreadable entry no other team.
func TestOneTroubleStaysOne(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		if _, err := r.PutTeam(t.Context(), rehab.Team{Key: "harriers", Zone: "Pacific/Auckland", ReportAt: "07:30"}); err != nil {
			t.Fatal(err)
		}
		b, err := bot.New(t.Context(), bot.Config{Store: r.store, Front: stuckFront{r.chat, bot.MedicalRoom}, Clock: func() time.Time { return r.now }, Log: r.Log})
		if err != nil {
			t.Fatal(err)
		}
		for range 5 {
			if err := b.Handle(t.Context(), r.message("sprain 7 left")); err != nil {
				t.Fatal(err)
			}
		}
		r.tamper(t)
		for r.now = breakfast; r.now.Before(breakfast.Add(10 * time.Minute)); r.now = r.now.Add(30 * time.Second) {
			_ = b.Tick(t.Context()) // the tampered team's trouble is reported each time
		}
		if got := reports(r); len(got) != 1 {
			t.Errorf("the other team's report: %q", got)
		}
	})
}

// tamper makes the first team's log unreadable.
func (r *rig) tamper(t *testing.T) {
	t.Helper()
	tx, err := r.store.DB().BeginTx(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	if r.store.Engine() == "postgres" {
		if _, err := tx.Exec(`SELECT set_config('footing.team', '1', true)`); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := tx.Exec(`UPDATE entries SET version = 2 WHERE team_id = 1`); err != nil {
		t.Fatal(err)
	}
	if err := tx.Commit(); err != nil {
		t.Fatal(err)
	}
}

// What is logged of a failure holds no values, whatever the engine's text says.
func TestExplainHoldsNoValues(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		_, err := r.store.DB().Exec(`INSERT INTO inbox (event_key, claimed_at) VALUES ('canary-name', 'canary-value')`)
		if err == nil {
			_, err = r.store.DB().Exec(`INSERT INTO inbox (event_key, claimed_at) VALUES ('canary-name', 'canary-value')`)
		}
		if err == nil || strings.Contains(store.Explain(err), "canary") {
			t.Errorf("logged: %s", store.Explain(err))
		}
	})
}
