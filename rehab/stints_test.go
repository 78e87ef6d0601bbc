package rehab_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"footing/rehab"
)

// saysStints is stints in a line: "settle 3, load 2+" of which the second is not finished.
func saysStints(stints []rehab.Stint) string {
	var out []string
	for _, s := range stints {
		mark := "+"
		if s.Finished {
			mark = ""
		}
		out = append(out, fmt.Sprintf("%s %d%s", s.Stage, s.Days, mark))
	}
	return strings.Join(out, ", ")
}

func stints(c *chart, now time.Time) string { return saysStints(c.view(now).Stints(now)) }

// How days are counted is our own definition: local midnights passed in the stage while nothing held.
func TestStints(t *testing.T) {
	c := sprain(t, "")
	want(t, "the day of the injury", stints(c, after(2)), "settle 0+", practice)
	c.screen(after(1), negative)
	want(t, "three days", stints(c, day(3)), "settle 3+", practice)
	c.decide(day(3), rehab.Advance, "settle", "load")
	c.decide(day(3).Add(time.Minute), rehab.Advance, "load", "control")
	want(t, "two gates in one sitting", stints(c, day(3).Add(time.Hour)), "settle 3, load 0, control 0+", practice)
	c.decide(day(5), rehab.StepBack, "control", "load")
	want(t, "a step back leaves a stage unfinished", stints(c, day(6)), "settle 3, load 0, control 2+, load 1+", practice)
	c.decide(day(7), rehab.Advance, "load", "control")
	want(t, "taken up again its days go on", stints(c, day(8)), "settle 3, load 0, load 2, control 3+", practice)
	c.log(day(9), rehab.Responded{Pain: 3, Alarms: []string{"gave-way"}})
	want(t, "a giving way holds: no day counts, and control is not finished", stints(c, day(12)), "settle 3, load 0, load 2, control 4+, settle 0+", practice)
	c.screen(day(12), negative)
	c.lift(day(12), "lateral")
	want(t, "from the lifting on they do", stints(c, day(14)), "settle 3, load 0, load 2, control 4+, settle 2+", practice)
}

func TestStintsOfAnAnkleThatIsBack(t *testing.T) {
	c := sprain(t, "")
	c.screen(after(1), negative)
	for i := range ankle.Stages[:len(ankle.Stages)-1] {
		c.decide(day(2), rehab.Advance, ankle.Stages[i].Key, ankle.Stages[i+1].Key)
	}
	want(t, "all finished", stints(c, day(30)), "settle 2, load 0, control 0, impact 0, land 0, sport 0", practice)
}

// A hold told late takes nothing back from the nights before it was told.
func TestStintsUnderAHoldToldLate(t *testing.T) {
	c := sprain(t, "")
	c.screen(after(1), negative)
	c.late(day(4), after(2), finds(t, "deformity"))
	want(t, "held from day 4 on", stints(c, day(6)), "settle 4+", practice)
}

func TestNoStints(t *testing.T) {
	c := sprain(t, "")
	c.screen(after(1), negative)
	c.lift(day(1), "other")
	want(t, "no guided course", stints(c, day(3)), "", practice)
	c = sprain(t, "")
	c.screen(after(0.2), negative)
	c.log(after(0.3), rehab.PlayedOn{Passed: []string{"gait"}})
	want(t, "played on", stints(c, after(0.5)), "", practice)
}

// A night that the clock is changed in is one night.
func TestStintsAcrossAClockChange(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Paris") // clocks go forward on 29 March 2026
	if err != nil {
		t.Skip(err)
	}
	c := sprain(t, "")
	c.entries[0].At = time.Date(2026, 3, 28, 15, 0, 0, 0, zone)
	c.entries[0].Logged = c.entries[0].At
	now := time.Date(2026, 3, 31, 0, 30, 0, 0, zone)
	want(t, "three nights", stints(c, now), "settle 3+", practice)
}
