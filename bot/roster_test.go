package bot_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"footing/bot"
	"footing/rehab"
	"footing/store/storetest"
)

// edit sends a message again with another text.
func (r *rig) revise(t *testing.T, in bot.Inbound, text string) string {
	t.Helper()
	r.now = r.now.Add(time.Second)
	in.Kind, in.Text, in.Sent = bot.Edited, text, r.now
	return r.send(t, in)
}

// from is a message of an athlete's own account.
func (r *rig) from(author, text string) bot.Inbound {
	in := r.message(text)
	in.Author, in.Roles, in.Place = author, []rehab.Role{rehab.AthleteRole}, bot.DirectTo(author)
	return in
}

// remove takes an athlete off the roster, button and all.
func (r *rig) remove(t *testing.T, label string) {
	t.Helper()
	shirt, _, _ := strings.Cut(label, " ")
	r.say(t, "remove "+shirt)
	wants(t, r.press(t, "Remove "+label, "sam", medical), "off the roster")
}

// The account of an athlete who was removed can do nothing: not even undo, edit or press what was
// offered before, nor speak for whoever wears the shirt next. Put back, they are linked anew.
func TestARemovedAthletesAccountCanDoNothing(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		const gone = "no longer on this team's roster"
		r.say(t, "sprain 7 left")
		if err := r.Link(t.Context(), club, "mere", 7); err != nil {
			t.Fatal(err)
		}
		answer := r.from("mere", "morning pain 2 same")
		wants(t, r.send(t, answer), "Thanks: pain 2")
		r.remove(t, "7 Mere Tau")
		stands := r.live(t)
		for _, text := range []string{"morning pain 4 worse", "undo", "help", "morning 7 pain 4", "wibble"} {
			wants(t, r.send(t, r.from("mere", text)), gone)
		}
		wants(t, r.revise(t, answer, "morning pain 9 more"), gone)
		wants(t, r.revise(t, answer, ""), gone)
		press := r.from("mere", "")
		press.Kind, press.Token = bot.Pressed, r.chat.token("Remove 7 Mere Tau")
		wants(t, r.send(t, press), gone)
		if n := r.live(t); n != stands {
			t.Errorf("%d entries stand, %d before", n, stands)
		}
		r.say(t, "undo")
		wants(t, r.send(t, r.from("mere", "morning pain 1 less")), gone)
		if err := r.Link(t.Context(), club, "mere", 7); err != nil {
			t.Fatal(err)
		}
		wants(t, r.send(t, r.from("mere", "morning pain 1 less")), "Thanks: pain 1")

		r.remove(t, "7 Mere Tau")
		r.say(t, "add 7 Pia Lund")
		wants(t, r.send(t, r.from("mere", "morning 7 pain 1")), gone)
	})
}

// A question is about a person, not about a shirt: pressed after the shirts changed hands, it records
// nothing for whoever wears that number now.
func TestAQuestionFollowsThePersonNotTheShirt(t *testing.T) {
	for name, c := range map[string]struct{ ask, label string }{
		"which side":   {"sprain 7 match", "Left"},
		"which person": {"sprain mere left", "7 Mere Tau"},
		"as a note":    {"test 7 wobble 3", "Keep as note"},
		"remove":       {"remove 7", "Remove 7 Mere Tau"},
	} {
		t.Run(name, func(t *testing.T) {
			each(t, func(t *testing.T, r *rig) {
				r.say(t, "add 9 Mere Poole")
				r.say(t, c.ask)
				r.say(t, "change 7 shirt 17\nchange 12 shirt 7")
				stands := r.live(t)
				wants(t, r.press(t, c.label, "sam", medical), "The shirts have changed since")
				if n := r.live(t); n != stands {
					t.Errorf("%d entries stand, %d before", n, stands)
				}
			})
		})
	}
}

// What an edit takes out of a message, the roster loses too.
func TestEditsOfTheRoster(t *testing.T) {
	for name, f := range map[string]func(t *testing.T, r *rig){
		"an added athlete whose line is gone leaves the roster": func(t *testing.T, r *rig) {
			in := r.message("add 31 Pia Lund\nadd 32 Kiri Moana")
			r.send(t, in)
			wants(t, r.revise(t, in, "add 31 Pia Lund-Faas"), "I cannot tell which line is which")
			wants(t, r.revise(t, in, "add 31 Pia Lund-Faas\n"), "Lines taken out: 1")
			wants(t, r.say(t, "roster"), "On the roster: 3.")
			wants(t, r.say(t, "roster"), "31 Pia Lund-Faas")
		},
		"an added athlete whose line says something else leaves the roster": func(t *testing.T, r *rig) {
			in := r.message("add 31 Pia Lund")
			r.send(t, in)
			wants(t, r.revise(t, in, "note 7: ice"), "7 Mere Tau: Note kept.")
			wants(t, r.say(t, "roster"), "On the roster: 2.")
		},
		"an added athlete who has records keeps the line": func(t *testing.T, r *rig) {
			in := r.message("add 31 Pia Lund")
			r.send(t, in)
			r.say(t, "sprain 31 left")
			said := r.revise(t, in, "note 7: ice")
			wants(t, said, "has records since")
			wants(t, said, "What that line recorded before still stands.")
			if said := r.revise(t, in, ""); said != "" {
				t.Errorf("an empty text was taken for an edit: %s", said)
			}
			wants(t, r.revise(t, in, "add 33 Pia Lund, wing"), "On the roster: 33 Pia Lund, wing.")
			wants(t, r.say(t, "ready 33"), "33 Pia Lund, left")
		},
		"a change whose line is gone is put back": func(t *testing.T, r *rig) {
			in := r.message("change 7 shirt 17\nnote 12: ice")
			r.send(t, in)
			r.revise(t, in, "\nnote 12: ice")
			wants(t, r.say(t, "roster"), "7 Mere Tau")
		},
		"a deleted message changes nothing until it is decided": func(t *testing.T, r *rig) {
			in := r.message("change 7 shirt 17")
			r.send(t, in)
			in.Kind = bot.Deleted
			wants(t, r.send(t, in), "17 Mere Tau: shirt changed")
			wants(t, r.say(t, "roster"), "17 Mere Tau")
			wants(t, r.press(t, "Void", "sam", medical), "Void: 17 Mere Tau: shirt changed")
			wants(t, r.say(t, "roster"), "7 Mere Tau")
		},
		"an undo that would undo someone else's change is refused": func(t *testing.T, r *rig) {
			r.say(t, "change 7 leg 90")
			other := r.message("change 7 leg 91")
			other.Author = "kim"
			r.send(t, other)
			wants(t, r.say(t, "undo"), "leg was changed again since")
			other.Message, other.Text = "kim2", "undo"
			wants(t, r.send(t, other), "Undone: 7 Mere Tau: leg changed")
			wants(t, r.say(t, "undo"), "Undone: 7 Mere Tau: leg changed")
			wants(t, r.say(t, "change 7 leg 90"), "leg 90 cm")
		},
	} {
		t.Run(name, func(t *testing.T) { each(t, f) })
	}
}

// file is a message with a roster file.
func (r *rig) file(text, csv string) bot.Inbound {
	in := r.message(text)
	in.File = []byte(csv)
	return in
}

func TestImport(t *testing.T) {
	const squad = "shirt;name;position;leg\n7;Mere Tau;lock;88,5\n12;Joss Okafor;lock;\n31;Pia Lund;wing;\n"
	for name, f := range map[string]func(t *testing.T, r *rig){
		"every athlete added or changed gets one entry, those unchanged none": func(t *testing.T, r *rig) {
			stands := r.live(t)
			wants(t, r.send(t, r.file("import", squad)), "Import: 1 added, 1 changed, 1 unchanged.")
			if n := r.live(t) - stands; n != 2 {
				t.Errorf("%d entries for one added and one changed", n)
			}
		},
		"the same event twice counts once, the same file again changes nothing": func(t *testing.T, r *rig) {
			in := r.file("import", squad)
			r.send(t, in)
			stands := r.live(t)
			if said := r.send(t, in); said != "" {
				t.Errorf("a repeated event was answered: %s", said)
			}
			wants(t, r.send(t, r.file("import", squad)), "Import: 3 unchanged.")
			if n := r.live(t); n != stands {
				t.Errorf("%d entries stand, %d before", n, stands)
			}
		},
		"a dry run says the same and changes nothing": func(t *testing.T, r *rig) {
			stands := r.live(t)
			dry := r.send(t, r.file("import dry", squad))
			if n := r.live(t); n != stands {
				t.Errorf("%d entries stand, %d before", n, stands)
			}
			wants(t, dry, "Dry run, nothing was changed. Import: 1 added, 1 changed, 1 unchanged.")
			wet := r.send(t, r.file("import", squad))
			if dry != strings.Replace(wet, "Import", "Dry run, nothing was changed. Import", 1) {
				t.Errorf("dry:\n%s\nwet:\n%s", dry, wet)
			}
		},
		"only who keeps the roster may": func(t *testing.T, r *rig) {
			in := r.file("import", squad)
			in.Roles, in.Place = []rehab.Role{rehab.Coach}, bot.StaffRoom
			wants(t, r.send(t, in), "You may not use import here")
			in = r.file("import", squad)
			in.Roles, in.Place = []rehab.Role{rehab.Owner}, bot.DirectTo("sam")
			wants(t, r.send(t, in), "use it there")
			in = r.file("import", squad)
			in.Roles, in.Place = []rehab.Role{rehab.Owner}, bot.StaffRoom
			wants(t, r.send(t, in), "1 added")
		},
	} {
		t.Run(name, func(t *testing.T) { each(t, f) })
	}
}

// The largest file there may be: every shirt there is, then lines that are refused. All of it is one
// event, told in one short message, and one undo takes it back.
func TestTheLargestImport(t *testing.T) {
	r := newRig(t, storetest.SQLite(t))
	stands := r.live(t)
	var csv strings.Builder
	csv.WriteString("shirt,name,position,born,leg,sex,nick\n")
	for i := 1; i < 5000; i++ {
		fmt.Fprintf(&csv, "%d,Player %d of the Squad,position %d,%d-04-30,%d.5,female,Nick %d\n", (i-1)%999+1, i, i%15, 1980+i%25, 70+i%40, i)
	}
	began := time.Now()
	said := r.send(t, r.file("import", csv.String()))
	took := time.Since(began)
	t.Logf("an import of 5,000 lines took %v", took)
	most := 5 * time.Second
	if raced {
		most *= 4
	}
	if took > most {
		t.Errorf("it took %v", took)
	}
	wants(t, said, "Import: 997 added, 4002 refused.")
	wants(t, said, "and 3982 more refused.")
	if n := r.live(t) - stands; n != 997 || strings.Count(said, "\n") > 21 {
		t.Errorf("%d entries, told in:\n%s", n, said)
	}
	began = time.Now()
	wants(t, r.say(t, "undo"), "and 985 more. It stays in the log")
	t.Logf("its undo took %v", time.Since(began))
	if n := r.live(t); n != stands {
		t.Errorf("%d entries stand after the undo, %d before", n, stands)
	}
	wants(t, r.say(t, "roster"), "On the roster: 2.")
}
