package commands

import (
	"testing"
	"time"

	"footing/rehab"
)

// Where a session goes that is moved: what is not said stays, and a weekday is the one nearest to the old
// day, if it is still to come (common practice: "Saturday's match to Sunday" means that weekend). The
// line is sent on Tue 3 Mar 18:50.
func TestAMovedSessionGoesToTheNearestSuchDay(t *testing.T) {
	for _, c := range []struct {
		old, day, clock, want string
	}{
		{"2026-03-14 15:00", "sun", "", "Sun 15 Mar 15:00"},
		{"2026-03-14 15:00", "fri", "", "Fri 13 Mar 15:00"},
		{"2026-03-14 15:00", "wed", "19:00", "Wed 11 Mar 19:00"},
		{"2026-03-14 15:00", "tue", "", "Tue 17 Mar 15:00"},
		{"2026-03-14 15:00", "sat", "14:00", "Sat 14 Mar 14:00"},
		{"2026-03-14 15:00", "", "14:00", "Sat 14 Mar 14:00"},
		{"2026-03-14 15:00", "2026-03-21", "", "Sat 21 Mar 15:00"},
		{"2026-03-05 18:30", "tue", "", "Tue 10 Mar 18:30"}, // Tuesday 3 is over by then
		{"2026-03-05 18:30", "tue", "19:00", "Tue 3 Mar 19:00"},
		{"2026-03-05 18:30", "wed", "", "Wed 4 Mar 18:30"},
	} {
		old, err := time.Parse("2006-01-02 15:04", c.old)
		if err != nil {
			t.Fatal(err)
		}
		if got := (coming{Day: c.day, Clock: c.clock}).from(old, tuesday).Format("Mon 2 Jan 15:04"); got != c.want {
			t.Errorf("%s moved to %q %q goes to %s, not %s", c.old, c.day, c.clock, got, c.want)
		}
	}
}

// A time that the clocks jump over uses the offset before the jump (RFC 5545, 3.3.5): 02:30 on 27
// September 2026 in Auckland is 14:30 UTC, which the clocks there show as 03:30.
func TestATimeTheClocksJumpOverIsReadByTheOffsetBefore(t *testing.T) {
	zone, err := time.LoadLocation("Pacific/Auckland")
	if err != nil {
		t.Fatal(err)
	}
	now := tuesday.In(zone)
	for _, c := range []struct {
		typed coming
		utc   string
	}{
		{coming{Day: "2026-09-27", Clock: "02:30"}, "2026-09-26T14:30:00Z"},
		{coming{Day: "2026-09-27", Clock: "01:59"}, "2026-09-26T13:59:00Z"},
		{coming{Day: "2026-09-27", Clock: "03:00"}, "2026-09-26T14:00:00Z"},
		{coming{Day: "2026-04-05", Clock: "02:30"}, "2026-04-04T13:30:00Z"}, // twice: the first
		{coming{Day: "2026-04-05", Clock: "03:00"}, "2026-04-04T15:00:00Z"},
	} {
		got := c.typed.at(now, dateOf(now))
		if got.UTC().Format(time.RFC3339) != c.utc {
			t.Errorf("%s is %s, not %s", c.typed.text(), got.UTC().Format(time.RFC3339), c.utc)
		}
		if skipped := jumped(got, c.typed.Clock) != ""; skipped != (c.typed.Clock == "02:30" && c.typed.Day == "2026-09-27") {
			t.Errorf("%s: said to be jumped over: %v", c.typed.text(), skipped)
		}
	}
}

// What a title of a calendar file means (common practice). Words of training win: a match simulation is
// training.
func TestATitleIsAMatchOrTraining(t *testing.T) {
	for title, want := range map[string]string{
		"Harbour Kestrels v Rovers": rehab.Match, "Kestrels vs. Tide (away)": rehab.Match, "Cup final": rehab.Match, "Friendly game": rehab.Match,
		"MATCH": rehab.Match, "Fixture 12": rehab.Match, "League FIXTURES": rehab.Match,
		"Squad training": rehab.Training, "Match simulation training": rehab.Training, "Captain's run": rehab.Training, "Rematch party": rehab.Training,
		"": rehab.Training, "Gym": rehab.Training, "Video": rehab.Training,
	} {
		if got := sessionKind(title); got != want {
			t.Errorf("%q is %s, not %s", title, got, want)
		}
	}
}
