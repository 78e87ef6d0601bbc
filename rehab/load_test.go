package rehab_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"footing/rehab"
)

const williams = "Williams 2017 BJSM 51:209, λ = 2 ÷ (N + 1) [C]"

// The weights of the average: a day of 100 after a day of nothing gives λ × 100; the day after, what is
// left of it is (1 − λ) of that. λ7 = 0.25, λ28 = 0.06897.
func TestEWMA(t *testing.T) {
	for _, c := range []struct {
		what   string
		series []float64
		days   int
		want   float64
	}{
		{"λ7", []float64{0, 100}, 7, 25},
		{"λ28", []float64{0, 100}, 28, 6.897},
		{"a day of rest after it", []float64{0, 100, 0}, 7, 18.75},
		{"two days alike", []float64{0, 100, 100}, 7, 43.75},
		{"begun with the first value", []float64{60, 60, 60, 60}, 7, 60},
		{"constant over 28 days", slicesOf(42, 60), 28, 42},
		{"one day", []float64{7}, 28, 7},
		{"one day's average is today", []float64{5, 9, 4}, 1, 4},
		{"nothing", nil, 7, 0},
		{"no days", []float64{3}, 0, 0},
	} {
		if got := rehab.EWMA(c.series, c.days); math.Abs(got-c.want) > 0.0005 {
			t.Errorf("%s: %v, want %v\nsource: %s", c.what, got, c.want, williams)
		}
	}
}

func slicesOf(x float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = x
	}
	return out
}

// counting is the default protocol with contacts on its tests.
func counting() *rehab.Protocol {
	p := drilled(stand)
	p.Tests = append([]rehab.Test{}, p.Tests...)
	for i := range p.Tests {
		switch p.Tests[i].Key {
		case "pogo", "pogo-both":
			p.Tests[i].CountContacts = true
		case "hop":
			p.Tests[i].Contacts = 1
		}
	}
	return p
}

func planned(day string, side rehab.Side, contacts int, doses ...rehab.Dose) rehab.Planned {
	return rehab.Planned{Day: day, Side: side, Doses: doses, Contacts: contacts, Running: 3}
}

func shown(day string, side rehab.Side, contacts int, doses ...rehab.Dose) rehab.Planned {
	b := planned(day, side, contacts, doses...)
	b.Shown = true
	return b
}

// What counts as load, one thing at a time: the days of a record as "date contacts/running/effort", a
// star where part of it is assumed.
func TestLoads(t *testing.T) {
	one, two := rehab.Dose{Drill: "stand", Level: 1}, rehab.Dose{Drill: "stand", Level: 2}
	all := func(side rehab.Side, contacts int, doses ...rehab.Dose) rehab.Trained {
		return rehab.Trained{Did: "all", Side: side, Doses: doses, Contacts: contacts, Running: 3}
	}
	none := rehab.Trained{Did: "none", Side: rehab.Left, Why: "bus"}
	for _, c := range []struct {
		what string
		do   func(c *chart)
		want string
	}{
		{"nothing", func(*chart) {}, ""},
		{"pogo counts its contacts", func(c *chart) { c.test(at(3, 9), "pogo L 15") }, "10 15/0/0"},
		{"every try of it", func(c *chart) { c.test(at(3, 9), "pogo L 15 20+") }, "10 35/0/0"},
		{"a two-leg pogo loads this leg too", func(c *chart) { c.test(at(3, 9), "pogo-both 20+") }, "10 20/0/0"},
		{"the other leg does not load this one", func(c *chart) { c.test(at(3, 9), "pogo R 15") }, ""},
		{"a hop counts by its tries, failed ones too", func(c *chart) { c.test(at(3, 9), "hop L 140 138 x") }, "10 3/0/0"},
		{"a test not done counts nothing", func(c *chart) { c.test(at(3, 9), "pogo L not-done: sore") }, ""},
		{"jogging counts in minutes", func(c *chart) { c.test(at(3, 9), "jog 10") }, "10 0/10/0"},
		{"a team session has contacts", func(c *chart) { c.test(at(3, 9), "team-session part", "team-session full") }, "10 80/0/0"},
		{"days without anything are days of nothing", func(c *chart) { c.test(at(1, 9), "pogo L 5"); c.test(at(3, 9), "pogo L 7") }, "8 5/0/0, 9 0/0/0, 10 7/0/0"},
		{"drills done", func(c *chart) { c.log(at(3, 9), all(rehab.Left, 30, one)) }, "10 30/3/0"},
		{"drills for the other ankle count too", func(c *chart) { c.log(at(3, 9), all(rehab.Right, 30, one)) }, "10 30/3/0"},
		{"a plan sent and not answered counts as done", func(c *chart) { c.log(at(3, 9), planned("2026-03-10", rehab.Left, 40, one)) }, "10 40/3/0*"},
		{"only the last plan of a day", func(c *chart) {
			c.log(at(3, 9), planned("2026-03-10", rehab.Left, 40, one))
			c.log(at(3, 10), planned("2026-03-10", rehab.Left, 20, two))
		}, "10 20/3/0*"},
		{"a plan shown to staff does not count", func(c *chart) { c.log(at(3, 9), shown("2026-03-10", rehab.Left, 40, one)) }, ""},
		{"nor does it take the place of what was sent", func(c *chart) {
			c.log(at(3, 9), planned("2026-03-10", rehab.Left, 40, one))
			c.log(at(3, 10), shown("2026-03-10", rehab.Left, 20, two))
		}, "10 40/3/0*"},
		{"answered: what was done, not what was planned", func(c *chart) {
			c.log(at(3, 9), planned("2026-03-10", rehab.Left, 40, one, two))
			c.log(at(3, 18), all(rehab.Left, 15, one))
		}, "10 15/3/0"},
		{"answered with none", func(c *chart) { c.log(at(3, 9), planned("2026-03-10", rehab.Left, 40, one)); c.log(at(3, 18), none) }, ""},
		{"an answer for the other ankle answers nothing here", func(c *chart) {
			c.log(at(3, 9), planned("2026-03-10", rehab.Left, 40, one))
			c.log(at(3, 18), all(rehab.Right, 10, one))
		}, "10 50/6/0*"},
		{"answered the next day for that day", func(c *chart) {
			c.log(at(2, 15), planned("2026-03-09", rehab.Left, 40, one))
			c.late(at(3, 9), at(2, 12), all(rehab.Left, 40, one))
		}, "9 40/3/0, 10 0/0/0"},
		{"told twice, counted once", func(c *chart) { c.log(at(3, 17), all(rehab.Left, 30, one)); c.log(at(3, 18), all(rehab.Left, 30, one)) }, "10 30/3/0"},
		{"another session of other drills counts", func(c *chart) { c.log(at(3, 17), all(rehab.Left, 30, one)); c.log(at(3, 18), all(rehab.Left, 20, two)) }, "10 50/6/0"},
		{"a new plan after the answer is not answered by it", func(c *chart) {
			c.log(at(3, 9), planned("2026-03-10", rehab.Left, 40, one))
			c.log(at(3, 10), none)
			c.log(at(3, 11), planned("2026-03-10", rehab.Left, 20, two))
		}, "10 20/3/0*"},
		{"effort is RPE × minutes, summed", func(c *chart) {
			c.log(at(3, 9), rehab.Worked{Effort: 6, Minutes: 60})
			c.log(at(3, 18), rehab.Worked{Effort: 2, Minutes: 30})
		}, "10 0/0/420"},
		{"what is still to come does not count", func(c *chart) {
			c.log(at(4, 9), all(rehab.Left, 30, one))
			c.log(at(3, 9), planned("2026-03-11", rehab.Left, 40, one))
			c.test(at(4, 9), "pogo L 5")
		}, ""},
	} {
		ch := sprain(t, adult)
		c.do(ch)
		var days []string
		for _, d := range rehab.Loads(rehab.Fold(ch.athlete, ch.entries), counting(), rehab.Left, at(3, 22)) {
			says := fmt.Sprintf("%d %d/%d/%d", d.Date.Day(), d.Contacts, d.Running, d.Effort)
			if d.Assumed {
				says += "*"
			}
			days = append(days, says)
		}
		want(t, c.what, strings.TrimPrefix(strings.Join(days, ", "), "10 0/0/0"), c.want, practice)
	}
}

// A session late in the evening belongs to the team's day, not to that of Greenwich.
func TestLoadsCountTheTeamsDays(t *testing.T) {
	zone := time.FixedZone("NZDT", 13*3600)
	c := sprain(t, adult)
	c.test(time.Date(2026, 3, 9, 20, 0, 0, 0, time.UTC), "pogo L 12") // the 10th, nine in the morning
	got := rehab.Loads(rehab.Fold(c.athlete, c.entries), counting(), rehab.Left, time.Date(2026, 3, 10, 22, 0, 0, 0, zone))
	if len(got) != 1 || got[0].Date.Day() != 10 || got[0].Contacts != 12 {
		t.Errorf("%+v", got)
	}
}
