package rehab_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"footing/rehab"
)

// A bad morning after the return asks for an examination and decides nothing by itself (common practice):
// the ankle stays returned, and what is new about it is for medical staff to say.
func TestABadMorningAfterTheReturn(t *testing.T) {
	const listed = "L worse since the return: "
	told := func(b rehab.Responded) func(*chart) { return func(c *chart) { c.log(at(33, 7), b) } }
	sore := told(rehab.Responded{Pain: 5, Swelling: "more"})
	for _, c := range []struct {
		what string
		do   []func(*chart)
		now  time.Time
		want string // on the clinic list; empty for nothing
	}{
		{"a good one", []func(*chart){told(rehab.Responded{Pain: 1})}, at(33, 8), ""},
		{"sore and swollen", []func(*chart){sore}, at(33, 8), listed + "pain 5, swelling up; examine it again"},
		{"a week later nobody has looked", []func(*chart){sore}, at(40, 8), listed + "pain 5, swelling up; examine it again"},
		{"then it is old", []func(*chart){sore}, at(41, 8), ""},
		{"better the next morning", []func(*chart){sore, func(c *chart) { c.log(at(34, 7), rehab.Responded{Pain: 1}) }}, at(34, 8), ""},
		{"seen", []func(*chart){sore, func(c *chart) { c.of(0, at(33, 9), rehab.Noted{Text: "bruise", Seen: true}) }}, at(33, 10), ""},
		{"seen before it", []func(*chart){func(c *chart) { c.of(0, at(32, 9), rehab.Noted{Seen: true}) }, sore}, at(33, 10), listed + "pain 5, swelling up; examine it again"},
		{"sprained anew: that is looked at anyway", []func(*chart){sore, func(c *chart) { c.hurt(at(33, 9), rehab.Left) }}, at(33, 10), ""},
		{"gave way: not put back to the first stage", []func(*chart){told(rehab.Responded{Pain: 1, Alarms: []string{"gave-way"}})}, at(33, 8), listed + "gave way; examine it again"},
		{"numb: not held without a way out", []func(*chart){told(rehab.Responded{Pain: 1, Alarms: []string{"numb"}})}, at(33, 8), listed + "numb; examine it again"},
	} {
		ch := sprain(t, adult)
		ch.screen(after(0.5), negative)
		ch.back(at(30, 9))
		for _, do := range c.do {
			do(ch)
		}
		a := ch.assess(c.now)
		if v := a.Views[0]; v.Open || v.Stage.Key != "returned" || v.Screening.Held(ankle) {
			t.Errorf("%s: open %v, in %s, held %v", c.what, v.Open, v.Stage.Key, v.Screening.Held(ankle))
		}
		got := ""
		for _, x := range rehab.Concerns(a, c.now) {
			if strings.HasPrefix(x.Says, listed) {
				got = x.Says
			}
		}
		want(t, c.what, got, c.want, practice)
	}
}

// Under treatment, and after a return that was taken back by a new sprain, giving way still puts it back.
func TestGivingWayUnderTreatmentStillPutsBack(t *testing.T) {
	for _, from := range []string{"load", "sport"} {
		ch := sprain(t, adult)
		ch.screen(after(0.5), negative)
		ch.decide(day(1), rehab.Advance, "", from)
		ch.log(day(2), rehab.Responded{Pain: 1, Alarms: []string{"gave-way"}})
		if v := ch.view(day(2)); v.Rank != 0 || !v.Screening.Held(ankle) || !slices.Contains(v.Morning.Answer.Alarms, "gave-way") {
			t.Errorf("from %s it is in %s, held %v", from, v.Stage.Key, v.Screening.Held(ankle))
		}
	}
}
