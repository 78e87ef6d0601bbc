package rehab_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"footing/rehab"
)

// told is a calendar's log as it grows: "training 03-10 18:30", "training 03-10 18:30 > 03-11 18:30",
// "x match 03-14 15:00". A number and a colon in front restate the entry of that seq; "-2" voids it.
func told(t *testing.T, zone *time.Location, lines ...string) rehab.Calendar {
	t.Helper()
	at := func(s string) time.Time {
		v, err := time.ParseInLocation("2006-01-02 15:04", "2026-"+strings.TrimSpace(s), zone)
		if err != nil {
			t.Fatal(err)
		}
		return v.UTC()
	}
	live := map[int64]rehab.Entry{}
	for i, line := range lines {
		e := rehab.Entry{Seq: int64(i + 1)}
		if no, ok := strings.CutPrefix(line, "-"); ok {
			delete(live, int64(no[0]-'0'))
			continue
		}
		if line[1] == ':' {
			e.First, line = int64(line[0]-'0'), line[3:]
			delete(live, e.First)
		}
		gone := strings.HasPrefix(line, "x ")
		what, when, _ := strings.Cut(strings.TrimPrefix(line, "x "), " ")
		from, to, moved := strings.Cut(when, ">")
		switch {
		case gone:
			e.Body = rehab.Cancelled{Session: what, Start: at(from)}
		case moved:
			e.Body = rehab.Moved{Session: what, From: at(from), To: at(to)}
		default:
			e.Body = rehab.Scheduled{Session: what, Start: at(from), Minutes: 60 + i}
		}
		live[e.Seq] = e
	}
	var entries []rehab.Entry
	for _, e := range live { // in any order
		entries = append(entries, e)
	}
	return rehab.FoldCalendar(entries)
}

func listed(c rehab.Calendar, zone *time.Location) string {
	var out []string
	for _, s := range c.Sessions {
		out = append(out, s.What+" "+s.Start.In(zone).Format("01-02 15:04")+s.End().In(zone).Format("–15:04"))
	}
	return strings.Join(out, ", ")
}

// What stands in the calendar after it was filled, moved, cancelled, edited and taken back (common
// practice: what was told later goes over what was told before).
func TestTheCalendarIsWhatWasToldLast(t *testing.T) {
	for _, r := range []struct {
		what  string
		lines []string
		want  string
	}{
		{"nothing told", nil, ""},
		{"by start, not as told", []string{"match 03-14 15:00", "training 03-10 18:30"}, "training 03-10 18:30–19:31, match 03-14 15:00–16:00"},
		{"moved", []string{"training 03-10 18:30", "training 03-10 18:30 > 03-11 19:00"}, "training 03-11 19:00–20:00"},
		{"moved twice", []string{"training 03-10 18:30", "training 03-10 18:30 > 03-11 19:00", "training 03-11 19:00 > 03-12 07:00"}, "training 03-12 07:00–08:00"},
		{"cancelled", []string{"match 03-14 15:00", "x match 03-14 15:00"}, ""},
		{"cancelled and told anew", []string{"match 03-14 15:00", "x match 03-14 15:00", "match 03-14 15:00"}, "match 03-14 15:00–16:02"},
		{"another kind at that time stays", []string{"match 03-14 15:00", "training 03-14 15:00", "x match 03-14 15:00"}, "training 03-14 15:00–16:01"},
		{"told again with other minutes", []string{"match 03-14 15:00", "match 03-14 15:00"}, "match 03-14 15:00–16:01"},
		{"that taken back", []string{"match 03-14 15:00", "match 03-14 15:00", "-2"}, "match 03-14 15:00–16:00"},
		{"a move taken back", []string{"match 03-14 15:00", "match 03-14 15:00 > 03-15 15:00", "-2"}, "match 03-14 15:00–16:00"},
		{"what was moved taken back", []string{"match 03-14 15:00", "match 03-14 15:00 > 03-15 15:00", "-1"}, ""},
		{"a move of nothing", []string{"match 03-14 15:00 > 03-15 15:00"}, ""},
		{"an edit keeps its place: the move still holds", []string{"match 03-14 15:00", "match 03-14 15:00 > 03-15 15:00", "1: match 03-14 15:00"}, "match 03-15 15:00–16:02"},
		{"an edit keeps its place: the cancellation still holds", []string{"match 03-14 15:00", "x match 03-14 15:00", "1: match 03-14 15:00"}, ""},
		{"an edit to another time", []string{"match 03-14 15:00", "1: match 03-14 14:00"}, "match 03-14 14:00–15:01"},
		{"moved to where one stands: one of them", []string{"match 03-14 15:00", "match 03-15 15:00", "match 03-14 15:00 > 03-15 15:00"}, "match 03-15 15:00–16:00"},
	} {
		want(t, r.what, listed(told(t, time.UTC, r.lines...), time.UTC), r.want, practice)
	}
}

// Days are the team's, a match day wins over the day before another one, that over training (common
// practice). Auckland is 13 hours ahead of UTC in March.
func TestDayTypes(t *testing.T) {
	auckland, err := time.LoadLocation("Pacific/Auckland")
	if err != nil {
		t.Fatal(err)
	}
	c := told(t, auckland, "training 03-10 06:30", "training 03-13 18:30", "match 03-14 00:30", "match 03-15 23:30", "training 03-15 10:00", "match 04-05 15:00", "match 09-28 00:15")
	for _, r := range []struct {
		day  string
		want rehab.DayType
	}{
		{"03-09", rehab.RestDay}, {"03-10", rehab.TrainingDay}, {"03-11", rehab.RestDay}, {"03-12", rehab.RestDay},
		{"03-13", rehab.DayBefore}, {"03-14", rehab.MatchDay}, {"03-15", rehab.MatchDay}, {"03-16", rehab.RestDay},
		{"04-04", rehab.DayBefore}, {"04-05", rehab.MatchDay}, // the day has 25 hours
		{"09-27", rehab.DayBefore}, {"09-28", rehab.MatchDay}, // the day before has 23
	} {
		for _, clock := range []string{"00:00", "12:00", "23:59"} {
			at, err := time.ParseInLocation("2006-01-02 15:04", "2026-"+r.day+" "+clock, auckland)
			if err != nil {
				t.Fatal(err)
			}
			want(t, r.day+" "+clock, string(c.Type(at.UTC(), auckland)), string(r.want), practice)
		}
	}
	noon := time.Date(2026, 3, 15, 12, 0, 0, 0, auckland)
	want(t, "sessions on a day", fmt.Sprint(len(c.On(noon, auckland))), "2", practice)
	want(t, "sessions on it by the days of UTC", fmt.Sprint(len(c.On(noon, time.UTC))), "1", practice)
	next, ok := c.NextMatch(noon)
	want(t, "next match", next.Start.In(auckland).Format("01-02 15:04"), "03-15 23:30", practice)
	next, _ = c.NextMatch(next.Start)
	want(t, "the one after", next.Start.In(auckland).Format("01-02 15:04"), "04-05 15:00", practice)
	_, none := c.NextMatch(noon.AddDate(1, 0, 0))
	want(t, "any, and any next year", fmt.Sprint(ok, none), "true false", practice)
	from := c.Sessions[0].Start
	want(t, "from a start up to another", fmt.Sprint(len(c.Between(from, c.Sessions[2].Start))), "2", practice)
}

func TestSessionsOverlap(t *testing.T) {
	start := time.Date(2026, 3, 10, 18, 0, 0, 0, time.UTC)
	a := rehab.Session{What: rehab.Training, Start: start, Minutes: 60}
	for minutes, overlaps := range map[int]bool{-60: false, -59: true, 0: true, 59: true, 60: false} {
		b := rehab.Session{What: rehab.Match, Start: start.Add(time.Duration(minutes) * time.Minute), Minutes: 60}
		want(t, b.Start.Format("15:04"), fmt.Sprint(a.Overlaps(b), b.Overlaps(a)), fmt.Sprint(overlaps, overlaps), practice)
	}
}
