package rehab_test

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"footing/rehab"
)

// consensus defines exposure: the hours that athletes are at risk, those of a match and of training apart,
// so that a team's are the sum over who takes part.
const consensus = "IOC consensus, Bahr 2020 BJSM 54:372, from memory"

// club is a squad of some athletes who joined long ago, and what is on record of the squad as a whole.
type club struct {
	athletes []rehab.Log
	squad    []rehab.Entry
	seq      int64
}

func newClub(athletes int) *club {
	c := &club{}
	for id := range int64(athletes) {
		c.athletes = append(c.athletes, rehab.Log{Athlete: rehab.Athlete{ID: id + 1, Shirt: int(id) + 1, Active: true}})
		c.says(id+1, injury.AddDate(0, -1, 0), rehab.Joined{Shirt: int(id) + 1})
	}
	return c
}

func (c *club) says(athlete int64, at time.Time, b rehab.Body) {
	c.seq++
	c.athletes[athlete-1].Entries = append(c.athletes[athlete-1].Entries, rehab.Entry{Seq: c.seq, Athlete: athlete, At: at, Logged: at, Body: b})
}

func (c *club) squadSays(b rehab.Body) {
	c.seq++
	c.squad = append(c.squad, rehab.Entry{Seq: c.seq, At: injury, Logged: injury, Body: b})
}

func (c *club) exposures() []rehab.Exposed {
	book := func(string) *rehab.Protocol { return ankle }
	return rehab.Exposures(c.squad, c.athletes, rehab.Setting{Book: book, Protocol: ankle, Now: day(10)}, day(-30), day(30))
}

func hours(t *testing.T, what string, got, wanted rehab.Hours, source string) {
	t.Helper()
	if math.Abs(got.Training-wanted.Training) > 1e-9 || math.Abs(got.Match-wanted.Match) > 1e-9 {
		t.Errorf("%s: %+v, not %+v (%s)", what, got, wanted, source)
	}
}

// Eleven players over a match of 90 minutes are 16.5 hours, and twenty at a training of 90 are 30 (the
// worked figures that every epidemiology of team sports begins with: common practice). With two injuries
// in those 16.5 hours, 121.2 per 1,000.
func TestExposureIsTheHoursOfAllWhoTakePart(t *testing.T) {
	c := newClub(20)
	match := rehab.Scheduled{Session: rehab.Match, Start: injury, Minutes: 90}
	c.squadSays(match)
	c.squadSays(rehab.Scheduled{Session: rehab.Training, Start: day(3), Minutes: 90})
	c.squadSays(rehab.Scheduled{Session: rehab.Training, Start: day(20), Minutes: 90}) // to come
	only := rehab.Attended{Session: rehab.Match, Start: injury, Only: true}
	for id := range int64(11) {
		only.Took = append(only.Took, rehab.Took{Athlete: id + 1, Minutes: rehab.WholeSession})
	}
	c.squadSays(only)
	list := c.exposures()
	hours(t, "eleven play, twenty train", rehab.Total(list), rehab.Hours{Training: 30, Match: 16.5}, consensus)
	hours(t, "one of them", rehab.HoursOf(1, list), rehab.Hours{Training: 1.5, Match: 1.5}, consensus)
	hours(t, "one who did not play", rehab.HoursOf(12, list), rehab.Hours{Training: 1.5}, consensus)
	if rate := 2 / rehab.Total(list).Match * 1000; math.Abs(rate-121.2121) > 1e-3 {
		t.Errorf("2 injuries in 16.5 hours are %f per 1,000", rate)
	}
	// A change: one off after 35, the one who comes on plays 55. The team's hours stay.
	c.squadSays(rehab.Attended{Session: rehab.Match, Start: injury, Took: []rehab.Took{{Athlete: 7, Minutes: 35}, {Athlete: 12, Minutes: 55}}})
	hours(t, "with a change", rehab.Total(c.exposures()), rehab.Hours{Training: 30, Match: 16.5}, consensus)
}

// Who takes part when nobody says otherwise: who is on the roster and not unavailable as the session starts,
// also with limits (common practice).
func TestWhoTakesPart(t *testing.T) {
	c := newClub(7)
	start := day(3)
	c.squadSays(rehab.Scheduled{Session: rehab.Training, Start: start, Minutes: 60})
	before, later := start.Add(-time.Hour), start.Add(time.Minute)
	c.says(2, before, rehab.Restricted{Level: rehab.Unavailable, Cause: "illness"})
	c.says(3, before, rehab.Restricted{Level: rehab.Modified, Cannot: []string{"contact"}})
	c.says(4, later, rehab.Restricted{Level: rehab.Unavailable, Cause: "injury"}) // hurt in it
	c.says(5, before, rehab.Departed{})
	c.says(6, before.AddDate(0, 0, -9), rehab.Restricted{Level: rehab.Unavailable, Cause: "illness", Until: start.AddDate(0, 0, -1).Format(time.DateOnly)})
	c.athletes[6].Entries = nil
	c.says(7, later, rehab.Joined{Shirt: 7})
	took := func() string {
		list := c.exposures()
		if len(list) != 1 {
			t.Fatalf("%d sessions", len(list))
		}
		var out []string
		for _, id := range slices.Sorted(maps.Keys(list[0].Minutes)) {
			out = append(out, fmt.Sprintf("%d:%d", id, list[0].Minutes[id]))
		}
		return strings.Join(out, " ")
	}
	want(t, "by themselves", took(), "1:60 3:60 4:60 6:60", practice)
	ankleOf2 := rehab.Attended{Session: rehab.Training, Start: start, Took: []rehab.Took{{Athlete: 2, Minutes: rehab.WholeSession}, {Athlete: 1, Minutes: 0}}}
	c.squadSays(ankleOf2)
	want(t, "2 in, 1 out", took(), "2:60 3:60 4:60 6:60", practice)
	c.squadSays(rehab.Attended{Session: rehab.Training, Start: start, Took: []rehab.Took{{Athlete: 1, Minutes: 20}}})
	want(t, "the later word on 1", took(), "1:20 2:60 3:60 4:60 6:60", practice)
	c.squadSays(rehab.Attended{Session: rehab.Match, Start: start, Only: true})
	want(t, "a word on another session", took(), "1:20 2:60 3:60 4:60 6:60", practice)
	c.squad = c.squad[:2] // the rest taken back
	want(t, "taken back", took(), "2:60 3:60 4:60 6:60", practice)
	c.squadSays(rehab.Scheduled{Session: rehab.Training, Start: start, Minutes: 45})
	want(t, "the session was shorter", took(), "2:45 3:45 4:45 6:45", practice)
}

// A sprained ankle is unavailable or has limits by its stage: the sprain itself ends no session before it.
func TestAnAnkleIsOutFromItsSprain(t *testing.T) {
	c := newClub(7)
	c.squadSays(rehab.Scheduled{Session: rehab.Match, Start: injury.Add(-30 * time.Minute), Minutes: 90})
	c.squadSays(rehab.Scheduled{Session: rehab.Training, Start: day(3), Minutes: 60})
	s := sprain(t, "")
	for _, e := range s.entries {
		e.Seq += 100
		c.athletes[6].Entries = append(c.athletes[6].Entries, e)
	}
	hours(t, "the match they were hurt in, not the training after it", rehab.HoursOf(7, c.exposures()), rehab.Hours{Match: 1.5}, practice)
}

// A series is one fact: what happens to one of its sessions leaves the others, taking it back takes all.
func TestASeriesInTheCalendar(t *testing.T) {
	at := func(n int) time.Time { return day(3 + 7*n) }
	series := rehab.Entry{Seq: 1, Body: rehab.Scheduled{Session: rehab.Training, Start: at(0), Minutes: 60, More: []time.Time{at(1), at(2), at(3)}}}
	moved := rehab.Entry{Seq: 2, Body: rehab.Moved{Session: rehab.Training, From: at(1), To: at(1).Add(time.Hour)}}
	rest := rehab.Entry{Seq: 3, Body: rehab.Cancelled{Session: rehab.Training, Start: at(2), More: []time.Time{at(3)}}}
	for _, c := range []struct {
		what    string
		entries []rehab.Entry
		want    string
	}{
		{"all", []rehab.Entry{series}, "03-10 09:00, 03-17 09:00, 03-24 09:00, 03-31 09:00"},
		{"one moved", []rehab.Entry{moved, series}, "03-10 09:00, 03-17 10:00, 03-24 09:00, 03-31 09:00"},
		{"the rest cancelled", []rehab.Entry{series, moved, rest}, "03-10 09:00, 03-17 10:00"},
		{"the cancellation taken back", []rehab.Entry{series, moved}, "03-10 09:00, 03-17 10:00, 03-24 09:00, 03-31 09:00"},
		{"the series taken back", []rehab.Entry{moved, rest}, ""},
	} {
		var out []string
		for _, s := range rehab.FoldCalendar(c.entries).Sessions {
			out = append(out, s.Start.Format("01-02 15:04"))
		}
		want(t, c.what, strings.Join(out, ", "), c.want, practice)
	}
}

// What a newer file says of a session takes the place of what an older one said, wherever staff moved it
// since; one that staff cancelled is remembered as such.
func TestAFileInTheCalendar(t *testing.T) {
	a := rehab.Filed{UID: "a", Slot: day(3), Session: rehab.Training, Start: day(3), Minutes: 60}
	b := rehab.Filed{UID: "a", Slot: day(4), Session: rehab.Training, Start: day(4), Minutes: 60}
	later := a
	later.Start, later.Sequence = day(5), 1
	first := rehab.Entry{Seq: 1, Body: rehab.Imported{Sessions: []rehab.Filed{a, b}}}
	moved := rehab.Entry{Seq: 2, Body: rehab.Moved{Session: rehab.Training, From: day(3), To: day(6)}}
	off := rehab.Entry{Seq: 3, Body: rehab.Cancelled{Session: rehab.Training, Start: day(4)}}
	second := rehab.Entry{Seq: 4, Body: rehab.Imported{Sessions: []rehab.Filed{later}, Gone: []rehab.Filed{{UID: "a", Slot: day(4)}}}}
	said := func(entries ...rehab.Entry) string {
		c := rehab.FoldCalendar(entries)
		return strings.ReplaceAll(listed(c, time.UTC), "training ", "") + fmt.Sprintf("; %d off", len(c.Off))
	}
	want(t, "taken", said(first), "03-10 09:00–10:00, 03-11 09:00–10:00; 0 off", practice)
	want(t, "one moved, one cancelled", said(first, moved, off), "03-13 09:00–10:00; 1 off", practice)
	want(t, "a newer file", said(first, moved, off, second), "03-12 09:00–10:00; 0 off", practice)
	want(t, "that taken back", said(first, moved, off), "03-13 09:00–10:00; 1 off", practice)
	want(t, "a newer file without what staff did", said(first, second), "03-12 09:00–10:00; 0 off", practice)
	again := rehab.Entry{Seq: 5, Body: rehab.Scheduled{Session: rehab.Training, Start: day(3), Minutes: 30}}
	if got := rehab.FoldCalendar([]rehab.Entry{first, again}).Sessions[0]; got.Filed != a || got.Minutes != 30 {
		t.Errorf("other minutes typed over a file's session: %+v", got)
	}
}
