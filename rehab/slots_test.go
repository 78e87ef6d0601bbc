package rehab_test

import (
	"bufio"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"footing/rehab"
)

// tuesday is a local day of the tables below, as a UTC date.
var tuesday = time.Date(2026, 3, 3, 0, 0, 0, 0, time.UTC)

// usual are the habits of a team that reports at 07:30 and chose nothing else.
func usual(t *testing.T, prefers ...string) rehab.Habits {
	t.Helper()
	h, err := rehab.TeamHabits(rehab.Team{ReportAt: "07:30"}, preferences(prefers...))
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// preferences are entries of "drills 18:00", "quiet 20:00-08:00", "days off:sun".
func preferences(texts ...string) []rehab.Entry {
	var out []rehab.Entry
	for i, text := range texts {
		what, says, _ := strings.Cut(text, " ")
		if rest, ok := strings.CutPrefix(text, "days off:"); ok {
			what, says = rehab.DaysOff, rest
		}
		out = append(out, rehab.Entry{Seq: int64(i + 1), Body: rehab.Preferred{What: what, Says: says}})
	}
	return out
}

// said writes slots as "drills 18:20-20:20", the athlete's number behind what is theirs.
func said(slots []rehab.Slot, zone *time.Location) string {
	var out []string
	for _, s := range slots {
		what := s.What
		if s.Athlete != 0 {
			what += fmt.Sprint(s.Athlete)
		}
		out = append(out, what+" "+s.At.In(zone).Format("15:04")+"-"+s.Until.In(zone).Format("15:04"))
	}
	return strings.Join(out, ", ")
}

// What is due on a day, in plain words. The default times are common practice.
func TestSlots(t *testing.T) {
	zone := time.UTC
	training := func(start string, minutes int) rehab.Entry {
		at, _ := time.Parse("2006-01-02 15:04", "2026-03-03 "+start)
		return rehab.Entry{Seq: 1, Body: rehab.Scheduled{Session: rehab.Training, Start: at, Minutes: minutes}}
	}
	treated := rehab.Receiver{Athlete: 7, Treated: true, Drilled: true}
	minor := treated
	minor.Minor = true
	for _, c := range []struct {
		name  string
		day   time.Time
		team  []string
		own   []string
		who   rehab.Receiver
		cal   []rehab.Entry
		slots string
	}{
		{name: "a team with nobody to remind", day: tuesday, slots: "clinic 07:15-09:15, report 07:30-09:30"},
		{name: "a Monday has its summary", day: tuesday.AddDate(0, 0, -1), slots: "clinic 07:15-09:15, summary 07:15-09:15, report 07:30-09:30"},
		{name: "a day without training: drills at the hour, the question when quiet hours end, one nudge", day: tuesday, team: []string{"clinic off", "report off"}, who: treated,
			slots: "morning7 07:00-09:00, drills7 17:00-19:00, nudge7 20:00-21:00"},
		{name: "training: drills ten minutes before it ends", day: tuesday, team: []string{"clinic off", "report off"}, who: treated, cal: []rehab.Entry{training("16:00", 90)},
			slots: "morning7 07:00-09:00, drills7 17:20-19:20, nudge7 20:20-21:00"},
		{name: "of two trainings the last", day: tuesday, team: []string{"clinic off", "report off", "nudge off"}, who: treated, cal: []rehab.Entry{training("09:00", 60), training("16:00", 60)},
			slots: "morning7 07:00-09:00, drills7 16:50-18:50"},
		{name: "late training: the nudge half an hour before quiet hours", day: tuesday, team: []string{"clinic off", "report off"}, who: treated, cal: []rehab.Entry{training("18:00", 90)},
			slots: "morning7 07:00-09:00, drills7 19:20-21:00, nudge7 20:30-21:00"},
		{name: "later still: no nudge", day: tuesday, team: []string{"clinic off", "report off"}, who: treated, cal: []rehab.Entry{training("18:30", 90)},
			slots: "morning7 07:00-09:00, drills7 19:50-21:00"},
		{name: "training into quiet hours: drills before they begin", day: tuesday, team: []string{"clinic off", "report off"}, who: treated, cal: []rehab.Entry{training("20:00", 90)},
			slots: "morning7 07:00-09:00, drills7 20:30-21:00"},
		{name: "training past midnight belongs to the day it begins on", day: tuesday, team: []string{"clinic off", "report off"}, who: treated, cal: []rehab.Entry{training("23:00", 90)},
			slots: "morning7 07:00-09:00, drills7 20:30-21:00"},
		{name: "under 18: nothing from 20:00 to 08:00", day: tuesday, team: []string{"clinic off", "report off"}, who: minor, cal: []rehab.Entry{training("18:30", 90)},
			slots: "morning7 08:00-10:00, drills7 19:50-20:00"},
		{name: "under 18, no wish of theirs opens the evening", day: tuesday, team: []string{"clinic off", "report off"}, own: []string{"quiet off", "drills 21:00"}, who: minor,
			slots: "morning7 08:00-10:00, drills7 19:30-20:00"},
		{name: "an athlete's own hour, quiet hours and days off", day: tuesday, team: []string{"clinic off", "report off", "nudge off"}, own: []string{"drills 12:00", "quiet 22:00-09:00"}, who: treated,
			slots: "morning7 09:00-11:00, drills7 12:00-14:00"},
		{name: "a day off", day: tuesday, team: []string{"clinic off", "report off"}, own: []string{"days off:tue sun"}, who: treated},
		{name: "off entirely", day: tuesday, team: []string{"clinic off", "report off"}, own: []string{"reminders off"}, who: treated},
		{name: "the team's reminders off: staff still get theirs", day: tuesday, team: []string{"reminders off"}, who: treated, slots: "clinic 07:15-09:15, report 07:30-09:30"},
		{name: "on again", day: tuesday, team: []string{"clinic off", "report off", "nudge off"}, own: []string{"reminders off", "reminders on"}, who: treated,
			slots: "morning7 07:00-09:00, drills7 17:00-19:00"},
		{name: "quiet hours over every slot leave nothing", day: tuesday, team: []string{"clinic off", "report off"}, own: []string{"quiet 08:00-20:00"}, who: minor},
		{name: "prevention is not asked in the morning", day: tuesday, team: []string{"clinic off", "report off", "nudge off"}, who: rehab.Receiver{Athlete: 7, Drilled: true}, slots: "drills7 17:00-19:00"},
		{name: "consent is asked for once more", day: tuesday, team: []string{"clinic off", "report off"}, who: rehab.Receiver{Athlete: 7, AskOn: tuesday}, slots: "consent7 17:00-19:00"},
		{name: "and on no other day", day: tuesday.AddDate(0, 0, 1), team: []string{"clinic off", "report off"}, who: rehab.Receiver{Athlete: 7, AskOn: tuesday}},
	} {
		t.Run(c.name, func(t *testing.T) {
			team := usual(t, c.team...)
			c.who.Habits = team.After(preferences(c.own...))
			got := said(rehab.Slots(team, rehab.FoldCalendar(renumbered(c.cal)), []rehab.Receiver{c.who}, c.day, zone), zone)
			if got != c.slots {
				t.Errorf("due: %s\nwant: %s", got, c.slots)
			}
		})
	}
}

func renumbered(list []rehab.Entry) []rehab.Entry {
	for i := range list {
		list[i].Seq = int64(i + 1)
	}
	return list
}

// Whatever is preferred, nothing for an athlete is due in quiet hours, outlasts its grace or runs into them.
func TestNothingInQuietHours(t *testing.T) {
	for from := 0; from < 24*60; from += 55 {
		for to := 0; to < 24*60; to += 55 {
			for hour := 0; hour < 24*60; hour += 45 {
				h := usual(t, "quiet "+(rehab.Span{From: rehab.Clock(from), To: rehab.Clock(to)}).String(), "drills "+rehab.Clock(hour).String())
				for _, s := range rehab.Slots(h, rehab.Calendar{}, []rehab.Receiver{{Athlete: 7, Habits: h, Treated: true, Drilled: true}}, tuesday, time.UTC) {
					if s.Athlete == 0 {
						continue
					}
					for at := s.At; at.Before(s.Until); at = at.Add(time.Minute) {
						if h.Silent(rehab.Clock(at.Hour()*60 + at.Minute())) {
							t.Fatalf("quiet %v, drills %v: %s", h.Quiet, rehab.Clock(hour), said([]rehab.Slot{s}, time.UTC))
						}
					}
					if s.Until.Sub(s.At) > rehab.Grace || !s.At.Before(s.Until) || !s.At.Truncate(24*time.Hour).Equal(tuesday) {
						t.Fatalf("quiet %v: %s", h.Quiet, said([]rehab.Slot{s}, time.UTC))
					}
				}
			}
		}
	}
}

// zones are the names of the IANA database (the list the commands know).
func zones(t *testing.T) []string {
	t.Helper()
	f, err := os.Open("../commands/zones.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	var out []string
	for lines := bufio.NewScanner(f); lines.Scan(); {
		out = append(out, lines.Text())
	}
	if len(out) < 400 {
		t.Fatalf("only %d zones", len(out))
	}
	return out
}

// In every zone of the IANA database each local date has its report once, at the wall time chosen, or after the
// hour that the clocks jump over; however the looks fall. 2026 has both kinds of change; Samoa left out 30
// December 2011 and Kwajalein 21 August 1993 when they crossed the date line; Lord Howe changes by half an hour;
// Morocco changes back and forth round Ramadan (all in the IANA time zone database).
func TestEveryZoneEveryDay(t *testing.T) {
	type span struct{ from, to time.Time }
	year := span{time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)}
	odd := map[string]span{
		"Pacific/Apia":      {time.Date(2011, 12, 1, 0, 0, 0, 0, time.UTC), time.Date(2012, 1, 31, 0, 0, 0, 0, time.UTC)},
		"Pacific/Kwajalein": {time.Date(1993, 8, 1, 0, 0, 0, 0, time.UTC), time.Date(1993, 9, 30, 0, 0, 0, 0, time.UTC)},
	}
	for i, name := range zones(t) {
		zone, err := time.LoadLocation(name)
		if err != nil {
			t.Fatal(err)
		}
		everyDay(t, zone, []string{"07:30", "02:30", "00:00"}[i%3], year.from, year.to)
		if s, ok := odd[name]; ok {
			everyDay(t, zone, "07:30", s.from, s.to)
		}
	}
}

func everyDay(t *testing.T, zone *time.Location, report string, from, to time.Time) {
	t.Helper()
	h, err := rehab.TeamHabits(rehab.Team{ReportAt: report}, preferences("clinic off", "summary off"))
	if err != nil {
		t.Fatal(err)
	}
	got := map[time.Time]int{}
	slots := func(day time.Time) []rehab.Slot { return rehab.Slots(h, rehab.Calendar{}, nil, day, zone) }
	looks := 0
	for since, now := from, from; now.Before(to); looks++ {
		due, next := rehab.Agenda(since, now, zone, slots)
		for _, s := range due {
			got[s.Day]++
			if now.After(s.Until) || now.Before(s.At) {
				t.Errorf("%s: %v is due at %v and was found at %v", zone, s.Day, s.At, now)
			}
			wall := s.At.In(zone)
			if y, m, d := wall.Date(); !time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Equal(s.Day) {
				t.Errorf("%s: the report of %v comes on %v", zone, s.Day.Format(time.DateOnly), wall)
			}
			if wall.Format("15:04") != report && offset(s.At.Add(-2*time.Hour), zone) == offset(s.At, zone) {
				t.Errorf("%s: %s comes at %s", zone, report, wall)
			}
		}
		if !next.After(now) {
			t.Fatalf("%s: after %v the next look is at %v", zone, now, next)
		}
		since, now = now, next
	}
	days := 0
	for at := from.Add(48 * time.Hour); at.Before(to.Add(-48 * time.Hour)); at = at.Add(time.Hour) {
		y, m, d := at.In(zone).Date()
		day := time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
		if got[day] != 1 {
			t.Fatalf("%s: %v has %d reports", zone, day.Format(time.DateOnly), got[day])
		}
		days++
	}
	if looks > 3*days/24+10 {
		t.Errorf("%s: %d looks for %d days", zone, looks, days/24)
	}
}

func offset(at time.Time, zone *time.Location) int {
	_, seconds := at.In(zone).Zone()
	return seconds
}

// What is due is found once wherever the looks fall: nothing twice, nothing left out, nothing of the future.
func TestAgendaInPieces(t *testing.T) {
	zone, err := time.LoadLocation("Pacific/Auckland")
	if err != nil {
		t.Fatal(err)
	}
	h := usual(t)
	who := []rehab.Receiver{{Athlete: 7, Habits: h, Treated: true, Drilled: true}}
	slots := func(day time.Time) []rehab.Slot { return rehab.Slots(h, rehab.Calendar{}, who, day, zone) }
	from := time.Date(2026, 4, 3, 11, 0, 0, 0, time.UTC) // clocks go back on 5 April
	whole, _ := rehab.Agenda(from, from.Add(60*time.Hour), zone, slots)
	if len(whole) < 12 || !slices.IsSortedFunc(whole, func(x, y rehab.Slot) int { return x.At.Compare(y.At) }) {
		t.Fatalf("in one piece: %s", said(whole, zone))
	}
	for _, step := range []time.Duration{time.Minute, 20 * time.Minute, 3 * time.Hour, 25 * time.Hour} {
		var pieces []rehab.Slot
		for at := from; at.Before(from.Add(60 * time.Hour)); at = at.Add(step) {
			due, _ := rehab.Agenda(at, minTime(at.Add(step), from.Add(60*time.Hour)), zone, slots)
			pieces = append(pieces, due...)
		}
		if !slices.Equal(pieces, whole) {
			t.Errorf("in steps of %v: %s\nwant: %s", step, said(pieces, zone), said(whole, zone))
		}
	}
	if due, _ := rehab.Agenda(from.Add(time.Hour), from, zone, slots); len(due) > 0 {
		t.Errorf("a clock that went back finds %s", said(due, zone))
	}
}

func minTime(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
