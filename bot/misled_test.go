package bot_test

import (
	"footing/bot"
	"footing/rehab"
	"strings"
	"testing"
)

// What a stranger's first hour showed: each reply once misled.
func TestRepliesThatOnceMisled(t *testing.T) {
	for name, f := range map[string]func(t *testing.T, r *rig){
		"what is missing is asked for bone by bone once one is tender": func(t *testing.T, r *rig) {
			said := r.say(t, "sprain 7 left tender fifth-metatarsal, no pregnant, sober, no head-knock, no other-injury")
			wants(t, said, "no tender bone-outer, no tender bone-inner, no tender navicular")
			wants(t, said, "no reduced-sensation")
			if strings.Contains(said, "tender none") {
				t.Error("it offers to deny the tender bone")
			}
		},
		"no drills after the athlete said something is wrong": func(t *testing.T, r *rig) {
			r.say(t, cleared)
			wants(t, r.send(t, r.athlete(t, 7, "my foot has gone cold")), "call emergency services: this cannot wait")
			wants(t, r.send(t, r.athlete(t, 7, "plan")), "No drills: something is wrong")
			wants(t, r.send(t, r.athlete(t, 7, "done all pain 2")), "it counts for no progress")
			r.say(t, "screen 7 no cold-foot, no numb, circulation ok")
			wants(t, r.send(t, r.athlete(t, 7, "plan")), "L, Settle, ")
		},
		"coaches do not read full of somebody who said that something is wrong": func(t *testing.T, r *rig) {
			r.say(t, "add 15 Pia Lund")
			wants(t, r.send(t, r.athlete(t, 15, "wrong : knee popped")), "Medical staff have been told")
			wants(t, r.say(t, "who 15"), "unavailable. Cannot: train before medical staff have seen them")
			wants(t, r.say(t, "available 15"), "full")
			if said := r.say(t, "who 15"); strings.Contains(said, "unavailable") || strings.Contains(said, "knee") {
				t.Errorf("seen by medical staff: %s", said)
			}
		},
		"no more drills on a day they hurt too much, and none while the other ankle is held": func(t *testing.T, r *rig) {
			r.say(t, cleared)
			r.say(t, "plan 7")
			wants(t, r.say(t, "done 7 all pain 9"), "Too much")
			wants(t, r.say(t, "plan 7"), "No more drills today: pain 9 is above 5")
			r.say(t, "past 12 right sprains 2")
			wants(t, r.say(t, "plan 12 right"), "prevention")
			r.say(t, "sprain 12 left tender bone-outer")
			wants(t, r.say(t, "plan 12 right"), "the other ankle is held or not cleared")
		},
		"a test with pain in its name is not the pain in the test before": func(t *testing.T, r *rig) {
			r.say(t, cleared)
			wants(t, r.say(t, "test 7 evert equal, pain-day 0"), "pain-day 0")
			wants(t, r.say(t, "test 7 evert equal pain 1, pain-rest 2"), "evert L equal pain 1; pain-rest 2")
		},
		"after a very sore morning no drills; a milder answer says what it replaces": func(t *testing.T, r *rig) {
			r.say(t, cleared)
			r.now = r.now.AddDate(0, 0, 1)
			r.say(t, "morning 7 pain 1 same")
			r.now = r.now.AddDate(0, 0, 1)
			r.say(t, "morning 7 pain 8 more limp")
			wants(t, r.say(t, "plan 7"), "No drills today: pain 8 in the first steps is above 5")
			wants(t, r.say(t, "morning 7 pain 1 same"), "It takes the place of pain 8, swelling more")
		},
		"a squad line takes no note and says whose foot is held": func(t *testing.T, r *rig) {
			wants(t, r.say(t, "test knee-to-wall: 7 L 9 R 12, 12 L 10 R 11 note: foot numb"), "Nothing was saved")
			r.say(t, heldLine)
			said := r.say(t, "test girth: 7 L 52 R 51, 12 L 50 R 50")
			wants(t, said, "7 Mere Tau: EMERGENCY")
			wants(t, said, "girth L 52 R 51")
			for _, loads := range []string{"knee-to-wall: 7 L 9 R 12", "balance: 7 L 9 R 12", "balance-closed: 7 L 9 R 12"} { // on one leg, or leaning on it: common practice
				wants(t, r.say(t, "test "+loads), "no tests that load it")
			}
		},
		"the owner takes back what the owner put on the roster, and no more": func(t *testing.T, r *rig) {
			owner := func(text string) string {
				in := r.message(text)
				in.Author, in.Roles, in.Place = "ola", []rehab.Role{rehab.Owner}, bot.StaffRoom
				return r.send(t, in)
			}
			owner("add 31 Pia Lund")
			wants(t, owner("undo"), "Undone: 31 Pia Lund")
			r.say(t, heldLine)
			in := r.message("undo")
			in.Place = bot.StaffRoom
			if said := r.send(t, in); strings.Contains(said, "deformity") || !strings.Contains(said, "medical channel") {
				t.Errorf("in the staff room: %s", said)
			}
		},
		"letters outside ASCII stay whole": func(t *testing.T, r *rig) {
			r.say(t, "sprain 7 left tender bone-outer")
			wants(t, r.say(t, "lift-hold 7 lateral: ångström says clear"), "Ångström says clear")
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			each(t, f)
		})
	}
}
