package rehab_test

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"footing/rehab"
)

var auckland = func() *time.Location {
	zone, err := time.LoadLocation("Pacific/Auckland")
	if err != nil {
		panic(err)
	}
	return zone
}()

// march is a local time in Auckland. 2 March 2026 is a Monday.
func march(day, hour, minute int) time.Time {
	return time.Date(2026, 3, day, hour, minute, 0, 0, auckland)
}

// fit opens the chart of an athlete whose ankles are well.
func fit(t fataler) *chart {
	return &chart{t: t, athlete: rehab.Athlete{ID: 7, Shirt: 7, Name: "Mere Tau", Active: true}}
}

// limit puts a restriction on: "unavailable until 2026-03-06", "modified no contact, no sprinting",
// "full".
func (c *chart) limit(at time.Time, says string) int64 {
	rest, until, _ := strings.Cut(says, " until ")
	level, not, _ := strings.Cut(rest, " ")
	b := rehab.Restricted{Level: rehab.Level(level), Cause: "illness", Until: until}
	for _, what := range strings.Split(not, ", ") {
		if what != "" {
			b.Cannot = append(b.Cannot, strings.TrimPrefix(what, "no "))
		}
	}
	return c.log(at, b)
}

// reads is what coaches read, in one line.
func reads(a rehab.Availability) string {
	out := string(a.Level) + rehab.Prefixed(" until ", a.Until) + rehab.Prefixed(", can ", strings.Join(a.Can, ", ")) + rehab.Prefixed(", cannot ", strings.Join(a.Cannot, ", "))
	for _, what := range slices.Sorted(maps.Keys(a.Ends)) {
		out += "; " + what + " until " + a.Ends[what]
	}
	return out
}

// The tighter level wins; of two alike what either forbids is forbidden. Common practice.
func TestRestrictionsCombine(t *testing.T) {
	for _, r := range []struct {
		what  string
		stage string // of the ankle, "" for none
		says  []string
		reads string
	}{
		{"nothing said", "", nil, "full"},
		{"unavailable", "", []string{"unavailable until 2026-03-13"}, "unavailable until 2026-03-13"},
		{"modified", "", []string{"modified no contact"}, "modified, cannot contact"},
		{"modified twice adds up, each to its own day", "", []string{"modified no contact until 2026-03-13", "modified no sprinting until 2026-03-20"},
			"modified until 2026-03-20, cannot contact, sprinting; contact until 2026-03-13; sprinting until 2026-03-20"},
		{"the same limit twice lasts for the longer", "", []string{"modified no contact until 2026-03-20", "modified no Contact until 2026-03-13"},
			"modified until 2026-03-20, cannot contact; contact until 2026-03-20"},
		{"with no day it has no end", "", []string{"modified no contact until 2026-03-20", "modified no contact"}, "modified, cannot contact"},
		{"unavailable wins over modified", "", []string{"unavailable until 2026-03-13", "modified no contact until 2026-03-20"}, "unavailable until 2026-03-13"},
		{"in either order", "", []string{"modified no contact until 2026-03-20", "unavailable until 2026-03-13"}, "unavailable until 2026-03-13"},
		{"the longer of two unavailable", "", []string{"unavailable until 2026-03-20", "unavailable until 2026-03-13"}, "unavailable until 2026-03-20"},
		{"available ends all before", "", []string{"unavailable", "modified no contact", "full"}, "full"},
		{"and nothing after", "", []string{"unavailable", "full", "modified no contact"}, "modified, cannot contact"},
		{"an ankle in Land and no sprinting", "land", []string{"modified no sprinting until 2026-03-20"}, "modified, can run, planned turns, cannot contact, live play, sprinting; sprinting until 2026-03-20"},
		{"what both forbid has the ankle's open end", "land", []string{"modified no contact until 2026-03-20"}, "modified, can run, planned turns, cannot contact, live play"},
		{"what is forbidden is not allowed as well", "land", []string{"modified no run"}, "modified, can planned turns, cannot contact, live play, run"},
		{"an ankle in Land and unavailable", "land", []string{"unavailable until 2026-03-13"}, "unavailable until 2026-03-13"},
		{"an ankle in Load and modified", "load", []string{"modified no contact"}, "unavailable, can own programme only, cannot team training"},
		{"an ankle in Load and ill: no own programme either", "load", []string{"unavailable until 2026-03-13"}, "unavailable, cannot team training"},
		{"available lifts nothing of the ankle", "load", []string{"unavailable", "full"}, "unavailable, can own programme only, cannot team training"},
		{"an ankle back in matches and modified", "returned", []string{"modified no contact"}, "modified, cannot contact"},
	} {
		c := fit(t)
		if r.stage != "" {
			c = sprain(t, adult)
			climb(c, r.stage)
		}
		for i, says := range r.says {
			c.limit(day(2).Add(time.Duration(i)*time.Minute), says)
		}
		want(t, r.what, reads(c.assess(day(3)).Availability), r.reads, practice)
	}
}

// The last day is included, and it is the team's day: 23:59 in Auckland, whatever the date in UTC.
func TestARestrictionEndsWithItsLocalDay(t *testing.T) {
	c := fit(t)
	c.limit(march(2, 9, 0), "unavailable until 2026-03-06")
	for _, r := range []struct {
		now   time.Time
		level rehab.Level
	}{
		{march(2, 9, 0), rehab.Unavailable},
		{march(6, 0, 0), rehab.Unavailable},
		{march(6, 23, 59), rehab.Unavailable},
		{march(7, 0, 0), rehab.Full},
		{march(7, 7, 30), rehab.Full},
	} {
		if a := c.assess(r.now); a.Level != r.level {
			t.Errorf("at %s: %s, not %s", r.now, a.Level, r.level)
		}
	}
	if now := march(6, 23, 59).UTC(); c.assess(now.In(auckland)).Level != rehab.Unavailable || now.Day() != 6 || now.Hour() != 10 {
		t.Errorf("23:59 in Auckland is %s", now)
	}
}

// Days out run from the first local day of the unbroken spell, whatever the causes in it.
func TestDaysOutOfASpell(t *testing.T) {
	const ioc = "IOC consensus, Bahr 2020 BJSM 54:372 [V]"
	type said struct {
		at   time.Time
		says string
	}
	for _, r := range []struct {
		what string
		said []said
		now  time.Time
		out  int
	}{
		{"the day itself", []said{{march(2, 9, 0), "unavailable"}}, march(2, 18, 0), 0},
		{"out on Monday, still out on Sunday: back next Monday is 6", []said{{march(2, 9, 0), "unavailable until 2026-03-08"}}, march(8, 9, 0), 6},
		{"back on Monday", []said{{march(2, 9, 0), "unavailable until 2026-03-08"}}, march(9, 9, 0), 0},
		{"said at 23:30, read at 07:30", []said{{march(2, 23, 30), "unavailable"}}, march(3, 7, 30), 1},
		{"modified straight after unavailable goes on", []said{{march(2, 9, 0), "unavailable until 2026-03-04"}, {march(4, 20, 0), "modified no contact"}}, march(6, 9, 0), 4},
		{"said only the morning after it ran out: no full day between", []said{{march(2, 9, 0), "unavailable until 2026-03-04"}, {march(5, 7, 0), "modified no contact"}}, march(6, 9, 0), 4},
		{"a full day between breaks it", []said{{march(2, 9, 0), "unavailable until 2026-03-03"}, {march(5, 9, 0), "unavailable"}}, march(6, 9, 0), 1},
		{"available, and out again the same day", []said{{march(2, 9, 0), "unavailable"}, {march(4, 9, 0), "full"}, {march(4, 9, 0), "modified no contact"}}, march(6, 9, 0), 4},
		{"available, and out again a day later", []said{{march(2, 9, 0), "unavailable"}, {march(4, 9, 0), "full"}, {march(5, 9, 0), "unavailable"}}, march(6, 9, 0), 1},
		{"across the end of summer time", []said{{time.Date(2026, 4, 4, 15, 0, 0, 0, auckland), "unavailable"}}, time.Date(2026, 4, 6, 7, 0, 0, 0, auckland), 2},
	} {
		c := fit(t)
		for _, s := range r.said {
			c.limit(s.at.UTC(), s.says)
		}
		if a := c.assess(r.now); a.Out != r.out {
			t.Errorf("%s: %d days out, want %d (%s)", r.what, a.Out, r.out, ioc)
		}
	}
	c := sprain(t, adult)
	climb(c, "land")
	c.limit(injury.AddDate(0, 0, -3), "unavailable until "+injury.Format(time.DateOnly))
	if a := c.assess(day(4)); a.Out != 7 {
		t.Errorf("ill three days before the sprain and until it: %d days out, want 7 (%s)", a.Out, ioc)
	}
}

// What the clinic list needs stays with the athlete: why, until when, and when to look again.
func TestCurrentRestrictions(t *testing.T) {
	c := fit(t)
	c.limit(march(2, 9, 0), "unavailable until 2026-03-03")
	c.limit(march(2, 10, 0), "full")
	c.log(march(2, 11, 0), rehab.Restricted{Level: rehab.Modified, Cannot: []string{"contact"}, Cause: "school", Until: "2026-03-06", Review: "2026-03-05"})
	c.limit(march(2, 12, 0), "unavailable until 2026-03-04")
	current := func(now time.Time) string {
		var out []string
		for _, r := range rehab.Fold(c.athlete, c.entries).Current(now) {
			out = append(out, fmt.Sprintf("%s %s until %s review %s from %s", r.Level, r.Cause, r.Until, r.Review, r.From.In(auckland).Format("2 Jan 15:04")))
		}
		return strings.Join(out, "; ")
	}
	school := "modified school until 2026-03-06 review 2026-03-05 from 2 Mar 11:00"
	want(t, "on Wednesday", current(march(4, 9, 0)), school+"; unavailable illness until 2026-03-04 review  from 2 Mar 12:00", practice)
	want(t, "on Thursday", current(march(5, 9, 0)), school, practice)
	want(t, "on Saturday", current(march(7, 9, 0)), "", practice)
}

// Coaches are told again only of what they read: a cause, a note, a date or a day out is no change.
func TestSame(t *testing.T) {
	a := rehab.Availability{Level: rehab.Modified, Can: []string{"run"}, Cannot: []string{"contact", "cut"}, Out: 1}
	for what, b := range map[string]rehab.Availability{
		"a day later":          {Level: rehab.Modified, Can: []string{"run"}, Cannot: []string{"contact", "cut"}, Out: 2},
		"in another order":     {Level: rehab.Modified, Can: []string{"run"}, Cannot: []string{"cut", "contact"}, Out: 1},
		"with a day of ending": {Level: rehab.Modified, Can: []string{"run"}, Cannot: []string{"contact", "cut"}, Until: "2026-03-06"},
	} {
		if !a.Same(b) {
			t.Errorf("%s it reads otherwise", what)
		}
	}
	for what, b := range map[string]rehab.Availability{
		"level":  {Level: rehab.Unavailable, Can: []string{"run"}, Cannot: []string{"contact", "cut"}},
		"can":    {Level: rehab.Modified, Cannot: []string{"contact", "cut"}},
		"cannot": {Level: rehab.Modified, Can: []string{"run"}, Cannot: []string{"contact"}},
	} {
		if a.Same(b) {
			t.Errorf("another %s reads the same", what)
		}
	}
}
