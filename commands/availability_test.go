package commands

import (
	"slices"
	"strings"
	"testing"

	"footing/rehab"
)

// The lines are sent on Tuesday 3 March. Common practice: these are the ways staff say it.
func TestAvailabilityLinesAreReadAs(t *testing.T) {
	reg, l := registry(t), lang(t)
	for _, c := range []struct{ typed, read string }{
		{"modified 7 no contact until 10 march", "modified 7 no contact until 2026-03-10"},
		{"modified 7 no contact until 10/3", "modified 7 no contact until 2026-03-10"},
		{"unavailable 12 illness until 2 feb", "unavailable 12 illness until 2027-02-02"},
		{"unavailable 12 illness until fri", "unavailable 12 illness until 2026-03-06"},
		{"12 unavailable sick till friday", "unavailable 12 illness until 2026-03-06"},
		{"unavailable joss until tue", "unavailable 12 until 2026-03-03"},
		{"unavailable 12 until today", "unavailable 12 until 2026-03-03"},
		{"unavailable 12 until tomorrow", "unavailable 12 until 2026-03-04"},
		{"unavailable 12 until mon", "unavailable 12 until 2026-03-09"},
		{"unavailable 12 until 2026-03-10 suspended", "unavailable 12 suspension until 2026-03-10"},
		{"unavailable 12", "unavailable 12"},
		{"unavailable 12 illness note: vomited twice, no fever", "unavailable 12 illness note: vomited twice, no fever"},
		{"unavailable 12 travel review mon", "unavailable 12 travel review 2026-03-09"},
		{"unavailable 12 review mon until fri", "unavailable 12 until 2026-03-06 review 2026-03-09"},
		{"modified 7 no contact until fri", "modified 7 no contact until 2026-03-06"},
		{"Modified Mez, no contact; no sprinting", "modified 7 no contact, no sprinting"},
		{"modified 7 no contact, sprinting until fri", "modified 7 no contact, no sprinting until 2026-03-06"},
		{"modified 7 no contact and no sprinting", "modified 7 no contact, no sprinting"},
		{"modified 7 no rucks or mauls", "modified 7 no rucks, no mauls"},
		{"modified 7 cannot run, can't jump", "modified 7 no run, no jump"},
		{"modified 7 no full-contact drills, 3v3", "modified 7 no full-contact drills, no 3v3"},
		{"modified 7 no contact, no Contact", "modified 7 no contact"},
		{"modified 7 until fri no contact", "modified 7 no contact until 2026-03-06"},
		// a cause is never taken into what coaches read
		{"modified 7 no contact illness until fri", "modified 7 illness no contact until 2026-03-06"},
		{"modified 7 no contact, injury", "modified 7 injury no contact"},
		{"modified 7 school no contact", "modified 7 school no contact"},
		{"modified 7 no travel", "modified 7 no travel"},
		{"limit 7 no contact, no sprinting until 2026-03-10", "limit 7 no contact, no sprinting until 2026-03-10"},
		{"available 12", "available 12"},
		{"12 available note: back in school", "available 12 note: back in school"},
		{"unavalable 12 ilness until firday", "unavailable 12 illness until 2026-03-06"},
		{"who", "who"},
		{"who 7", "who 7"},
		{"who contact", "who : contact"},
		{"who mere tau", "who 7"},
	} {
		call, err := reg.Parse(c.typed, l)
		if err != nil {
			t.Errorf("%q: %v", c.typed, err)
			continue
		}
		if got := call.Text(); got != c.read {
			t.Errorf("%q was read as %q, not %q", c.typed, got, c.read)
		}
		sameAgain(t, reg, l, c.typed, true)
	}
}

func TestAvailabilityRefusals(t *testing.T) {
	reg, l := registry(t), lang(t)
	for _, c := range []struct{ typed, says string }{
		{"unavailable", "Who?"},
		{"unavailable 12 until 2026-03-02", "Mon 2 Mar 2026 is over"},
		{"unavailable 12 until yesterday", "Mon 2 Mar 2026 is over"},
		{"unavailable 12 review 2026-03-02", "is over"},
		{"unavailable 12 until", "needs a day"},
		{"unavailable 12 until further notice", "Leave it out"},
		{"unavailable 12 until fri until sat", "given twice"},
		{"unavailable 12 illness travel", "given twice"},
		{"unavailable 12 glandular", "“glandular”"},
		{"unavailable 12 fri", "“fri”"},
		{"modified 7", "what limits?"},
		{"modified 7 illness until fri", "what limits?"},
		{"modified 7 no", "“no”"},
		{"modified 7 no until fri", "“no”"},
		{"modified 7 no no contact", "“no”"},
		{"modified 7 no contact fri", "“fri”"},
		{"modified 7 no illness", "coaches never read causes"},
		{"limit 12 no contact, sore knee", "“sore knee” (sore) is no activity I know"},
		{"modified 12 no contact, sore knee", "which only medical staff read"},
		{"modified 12 no knee bending", "“knee bending” (knee)"},
		{"unavailable 12 no hamstring", "“hamstring” is no activity I know"},
		{"modified 7 no restrictions", "type available"},
		{"modified 7 no work with the ball that is longer than anybody reads", "40 letters"},
		{"limit 7", "what limits?"},
		{"available", "Who?"},
		{"available 12 until fri", "“until”"},
		{"available 12 illness", "“illness”"},
		{"unvailable 12", "I do not know the command"}, // one letter from unavailable, two from available
		{"uavailable 12", "I do not know the command"},
		{"who 99", "wears 99"},
	} {
		call, err := reg.Parse(c.typed, l)
		if err == nil {
			t.Errorf("%q was read as %q; it should have been refused", c.typed, call.Text())
		} else if !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q: %q does not say %q", c.typed, err, c.says)
		}
	}
}

// On a Friday until fri means today.
func TestUntilCountsToday(t *testing.T) {
	reg, l := registry(t), lang(t)
	l.Now = tuesday.AddDate(0, 0, 3)
	call, err := reg.Parse("unavailable 12 until fri", l)
	if err != nil || call.Text() != "unavailable 12 until 2026-03-06" {
		t.Errorf("%v, %v", call.Text(), err)
	}
}

// Who may do an activity: full, or not limited in it. What a stage's list does not name is asked.
func TestWhoMay(t *testing.T) {
	squad := []standingOf{
		{rehab.Athlete{Shirt: 1, Name: "Full"}, rehab.Availability{Level: rehab.Full}, rehab.Assessment{}},
		{rehab.Athlete{Shirt: 2, Name: "Out"}, rehab.Availability{Level: rehab.Unavailable, Can: []string{"run"}, Until: "2026-03-06"}, rehab.Assessment{}},
		{rehab.Athlete{Shirt: 3, Name: "Control"}, rehab.Availability{Level: rehab.Modified, Can: []string{"standing skills"}, Cannot: []string{"run", "jump", "contact"}}, rehab.Assessment{}},
		{rehab.Athlete{Shirt: 4, Name: "Land"}, rehab.Availability{Level: rehab.Modified, Can: []string{"run", "planned turns"}, Cannot: []string{"contact", "live play"}}, rehab.Assessment{}},
		{rehab.Athlete{Shirt: 5, Name: "Limited"}, rehab.Availability{Level: rehab.Modified, Cannot: []string{"Sprinting", "full contact"}, Ends: map[string]string{"Sprinting": "2026-03-09"}}, rehab.Assessment{}},
	}
	env := &Env{Now: tuesday}
	for _, c := range []struct {
		asked string
		says  []string
	}{
		{"contact", []string{"May: 1 Full.", "May not: 2 Out until the end of Fri 6 Mar; 3 Control; 4 Land; 5 Limited."}},
		{"running", []string{"May: 1 Full; 4 Land (run).", "May not: 2 Out until the end of Fri 6 Mar; 3 Control.", "Ask the medical staff about: 5 Limited (no Sprinting, full contact)."}},
		{"sprint", []string{"May: 1 Full.", "May not: 2 Out until the end of Fri 6 Mar; 5 Limited until the end of Mon 9 Mar.", "Ask the medical staff about: 3 Control; 4 Land."}},
		{"contact drills", []string{"May: 1 Full.", "May not: 2 Out until the end of Fri 6 Mar; 3 Control; 4 Land.", "Ask the medical staff about: 5 Limited."}},
		{"kicking", []string{"May: 1 Full.", "May not: 2 Out until the end of Fri 6 Mar.", "Ask the medical staff about: 3 Control; 4 Land; 5 Limited (no Sprinting, full contact)."}},
	} {
		if got := whoMay(env, squad, c.asked).Lines[1:]; !slices.Equal(got, c.says) {
			t.Errorf("who %s:\n%s\nnot\n%s", c.asked, strings.Join(got, "\n"), strings.Join(c.says, "\n"))
		}
	}
}
