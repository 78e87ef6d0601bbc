package commands

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"footing/rehab"
)

const weeklyExample = "training tue thu 18:30 90min weekly until 2026-04-30"

var repeats = NewWords(Word{"weekly", []string{"every week", "each week", "every", "each"}})

// longestSeries is how far ahead a series may go, in days.
const longestSeries = 366

// series puts every session of a weekly series into the calendar, as one record. All keep their wall time
// when the clocks change (RFC 5545, 3.3.5).
func (e *Env) series(ctx context.Context, what string, a sessionArgs) (Reply, error) {
	if a.Until == "" {
		return Reply{}, e.askUntil()
	}
	starts, err := a.When.weekly(e.Told, a.Until)
	if err != nil {
		return Reply{}, err
	}
	cal, err := e.Calendar(ctx)
	if err != nil {
		return Reply{}, err
	}
	length := int(a.Minutes)
	if length == 0 {
		length = e.usual(what)
	}
	fresh := slices.DeleteFunc(slices.Clone(starts), func(t time.Time) bool {
		s, stands := cal.Find(what, t)
		return stands && s.Minutes == length
	})
	if len(fresh) == 0 {
		return Reply{}, refuse("All %d stand already; nothing was changed.", len(starts))
	}
	squad, err := e.Records.Squad(ctx)
	if err != nil {
		return Reply{}, err
	}
	body := rehab.Scheduled{Session: what, Start: fresh[0], Minutes: length, More: fresh[1:]}
	reply := lines(e.saySeries(cal, body, a, len(starts))...)
	reply.Entries = []rehab.Entry{{Athlete: squad.ID, At: e.Told, Body: body}}
	return reply, nil
}

// askUntil asks for the end of a series.
func (e *Env) askUntil() error {
	r := refuse("Weekly until when? Press one, or type the day, at most a year ahead: weekly until 30 Jun")
	for _, weeks := range []int{6, 12, 26} {
		day := dateOf(e.Told).AddDate(0, 0, 7*weeks)
		r.Buttons = append(r.Buttons, Button{Label: fmt.Sprintf("%d weeks, until %s", weeks, e.sayDay(day)), Line: e.Call.TextWith("until", "until "+day.Format(time.DateOnly))})
	}
	return r
}

// weekly lists the starts of a series up to and with its last day. Those that are over are not in it.
func (c coming) weekly(now time.Time, until string) ([]time.Time, error) {
	first, last := dateOf(now), dateOf(now)
	if date, err := time.Parse(time.DateOnly, c.Day); err == nil {
		first = date
	}
	if date, err := time.Parse(time.DateOnly, until); err == nil {
		last = date
	}
	if last.After(dateOf(now).AddDate(0, 0, longestSeries)) {
		return nil, refuse("until %s is more than a year away. Nothing was saved; a series goes a year at most.", last.Format("Mon 2 Jan 2006"))
	}
	names := c.weekdays()
	clock, _ := time.Parse("15:04", c.Clock)
	var out []time.Time
	for day := first; !day.After(last); day = day.AddDate(0, 0, 1) {
		at := rehab.LocalTime(day, clock.Hour(), clock.Minute(), now.Location()).In(now.Location())
		if slices.Contains(names, weekdays[day.Weekday()][0]) && at.After(now) {
			out = append(out, at)
		}
	}
	if len(out) == 0 {
		return nil, refuse("There is no such day up to %s. Nothing was saved.", last.Format("Mon 2 Jan 2006"))
	}
	return out, nil
}

// weekdays are the days of a series, "tue", in the order of the week.
func (c coming) weekdays() []string {
	names := strings.Fields(c.Names)
	if date, err := time.Parse(time.DateOnly, c.Day); err == nil && len(names) == 0 {
		names = []string{weekdays[date.Weekday()][0]}
	}
	var out []string
	for i := range weekdays {
		if day := weekdays[(i+1)%7][0]; slices.Contains(names, day) {
			out = append(out, day)
		}
	}
	return out
}

// saySeries says a series, what to know about it, and how to change one or the rest of it.
func (e *Env) saySeries(cal rehab.Calendar, b rehab.Scheduled, a sessionArgs, all int) []string {
	zone, starts := e.Now.Location(), b.Starts()
	var days []string
	for _, d := range a.When.weekdays() {
		days = append(days, upper(d))
	}
	ends := starts[0].Add(time.Duration(b.Minutes) * time.Minute).In(zone).Format("15:04")
	head := fmt.Sprintf("%s %s %s–%s, weekly until %s: %s, the first %s.", upper(b.Session), strings.Join(days, ", "), a.When.Clock, ends, dayOf(a.Until, e.Now), plural(all, "session"), e.sayDay(starts[0].In(zone)))
	note := ""
	if n := all - len(starts); n > 0 {
		note = fmt.Sprintf("%d stood already.", n)
	}
	var over []rehab.Session
	for _, t := range starts {
		s := rehab.Session{What: b.Session, Start: t, Minutes: b.Minutes}
		for _, o := range cal.Sessions {
			if o.Overlaps(s) && !(o.What == s.What && o.Start.Equal(t)) {
				over = append(over, o)
			}
		}
		if jump := jumped(t.In(zone), a.When.Clock); jump != "" {
			note = join(" ", note, e.sayDay(t.In(zone))+": "+jump)
		}
	}
	switch len(over) {
	case 0:
	case 1:
		note = join(" ", note, "It overlaps the "+e.saySession(over[0])+".")
	default:
		note = join(" ", note, fmt.Sprintf("%d sessions overlap, the first the %s.", len(over), e.saySession(over[0])))
	}
	out := []string{head}
	if note != "" {
		out = append(out, note)
	}
	first := starts[0].In(zone)
	one := b.Session + " " + strings.ToLower(first.Format("Mon"))
	return append(out, fmt.Sprintf("Change one: move %s to …, cancel %s. Cancel the rest: cancel %s from %s", one, one, one, e.typedDay(first.AddDate(0, 0, 7))))
}

// onlyThatOne says that one session of a series was meant, and how to cancel the rest.
func (e *Env) onlyThatOne(after rehab.Calendar, s rehab.Session) []string {
	zone := e.Now.Location()
	start := s.Start.In(zone)
	for _, o := range after.Sessions {
		next := o.Start.In(zone)
		if s.Series && o.Series && o.What == s.What && o.Start.After(s.Start) && next.Weekday() == start.Weekday() && next.Format("15:04") == start.Format("15:04") {
			return []string{fmt.Sprintf("Only that one. The rest: cancel %s %s from %s", s.What, strings.ToLower(next.Format("Mon")), e.typedDay(next))}
		}
	}
	return nil
}
