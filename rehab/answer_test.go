package rehab_test

import (
	"testing"
	"time"

	"footing/rehab"
)

// Which plan an answer means, by when both were told (common practice): the last one sent by then, never a
// later one; in the night that of the evening before, as long as it waits for an answer.
func TestThePlanAnAnswerMeans(t *testing.T) {
	const evening, morning = "2026-03-10", "2026-03-11"
	plan := func(c *chart, when time.Time, day string, minutes int) {
		c.log(when, rehab.Planned{Day: day, Side: rehab.Left, Minutes: minutes})
	}
	done := rehab.Trained{Did: "all", Side: rehab.Left}
	for _, c := range []struct {
		what    string
		do      func(c *chart)
		told    time.Time
		minutes int  // of the plan that is meant; 0 for none
		evening bool // it is that of the evening before
	}{
		{"none was sent", func(*chart) {}, at(3, 18), 0, false},
		{"the last one sent", func(c *chart) { plan(c, at(3, 9), evening, 5); plan(c, at(3, 10), evening, 10) }, at(3, 18), 10, false},
		{"not one sent since", func(c *chart) { plan(c, at(3, 9), evening, 5); plan(c, at(3, 19), evening, 10) }, at(3, 18), 5, false},
		{"not one of the other ankle", func(c *chart) {
			c.log(at(3, 9), rehab.Planned{Day: evening, Side: rehab.Right, Minutes: 5})
		}, at(3, 18), 0, false},
		{"the one sent, whatever staff were shown since", func(c *chart) {
			plan(c, at(3, 9), evening, 5)
			c.log(at(3, 10), rehab.Planned{Day: evening, Side: rehab.Left, Minutes: 10, Shown: true})
		}, at(3, 18), 5, false},
		{"the one shown to staff, where none was sent", func(c *chart) {
			c.log(at(3, 10), rehab.Planned{Day: evening, Side: rehab.Left, Minutes: 10, Shown: true})
		}, at(3, 18), 10, false},
		{"after midnight that of the evening", func(c *chart) { plan(c, at(3, 23), evening, 5) }, at(4, 0), 5, true},
		{"at four the night is over", func(c *chart) { plan(c, at(3, 23), evening, 5) }, at(4, 4), 0, false},
		{"it was answered already", func(c *chart) { plan(c, at(3, 22), evening, 5); c.log(at(3, 23), done) }, at(4, 0), 0, false},
		{"an answer before it is not its answer", func(c *chart) { c.log(at(3, 12), done); plan(c, at(3, 23), evening, 5) }, at(4, 0), 5, true},
		{"the new day has its own", func(c *chart) { plan(c, at(3, 23), evening, 5); plan(c, at(4, 0), morning, 10) }, at(4, 1), 10, false},
	} {
		ch := sprain(t, adult)
		c.do(ch)
		st := rehab.Fold(ch.athlete, ch.entries)
		got, _, late := st.EveningPlan(rehab.Left, c.told)
		if !late {
			got, _ = st.PlanFor(c.told, rehab.Left, c.told)
		}
		if got.Minutes != c.minutes || late != c.evening {
			t.Errorf("%s: the plan of %d min (the evening's: %v), want %d (%v); %s", c.what, got.Minutes, late, c.minutes, c.evening, practice)
		}
	}
}
