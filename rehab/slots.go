package rehab

import (
	"slices"
	"time"
)

// Grace is how late something due may still be said. Later it is missed.
const Grace = 2 * time.Hour

const (
	// beforeEnd is how long before training ends its drills are sent: they are done at the ground.
	beforeEnd = 10 * time.Minute
	// nudgeAfter is how long a card of drills may stay unanswered, nudgeLeast how long at least.
	nudgeAfter, nudgeLeast = 3 * 60, 45
)

// Receiver is an athlete who may be written to, and what for.
type Receiver struct {
	Athlete int64
	Habits  Habits
	Minor   bool
	Treated bool      // an ankle is under treatment: asked in the morning
	Drilled bool      // drills are proposed
	AskOn   time.Time // local day, as a UTC date, on which they are asked for consent once more
}

// Slot is one thing due on a local day of a team.
type Slot struct {
	What    string
	Athlete int64     // who gets it; 0 for staff
	Day     time.Time // local day, as a UTC date
	At      time.Time // when it is due
	Until   time.Time // up to when it may be said
}

// Slots lists what is due on a local day, staff's first. It says when, not whether it is still to be done.
func Slots(team Habits, cal Calendar, who []Receiver, day time.Time, zone *time.Location) []Slot {
	var out []Slot
	staff := func(what string, at Clock) {
		if team.Sends(what) {
			due := at.On(day, zone)
			out = append(out, Slot{What: what, Day: day, At: due, Until: due.Add(Grace)})
		}
	}
	staff(ClinicList, team.Times[ClinicList])
	if day.Weekday() == time.Monday {
		staff(WeekSummary, team.Times[ClinicList])
	}
	staff(MorningReport, team.Times[MorningReport])
	for _, r := range who {
		out = append(out, r.slots(cal, day, zone)...)
	}
	return out
}

func (r Receiver) slots(cal Calendar, day time.Time, zone *time.Location) []Slot {
	h := r.Habits.For(r.Minor)
	if slices.Contains(h.DaysOff, day.Weekday()) {
		return nil
	}
	var out []Slot
	add := func(what string, at Clock, only bool) (Clock, bool) {
		at, ok := h.Allowed(at)
		if ok && only && h.Sends(what) {
			due := at.On(day, zone)
			out = append(out, Slot{what, r.Athlete, day, due, due.Add(min(Grace, time.Duration(h.silentFrom(at))*time.Minute))})
		}
		return at, ok
	}
	add(MorningQuestion, h.Times[MorningQuestion], r.Treated)
	add(ConsentQuestion, h.Times[DrillCard], r.AskOn.Equal(day))
	if card, ok := add(DrillCard, drillTime(h, cal, day, zone), r.Drilled); ok && h.Sends(DrillCard) {
		wait := min(Clock(nudgeAfter), h.silentFrom(card)-margin)
		if again := card + wait; wait >= nudgeLeast && again < 24*60 {
			add(Nudge, again, r.Drilled)
		}
	}
	return out
}

// drillTime is when the drills of a day are sent: shortly before its last training ends, else at the hour
// chosen. Of a training that ends after midnight it is the end of the day it began on.
func drillTime(h Habits, cal Calendar, day time.Time, zone *time.Location) Clock {
	at := h.Times[DrillCard]
	var last time.Time
	for _, s := range cal.on(day, zone) {
		if s.What == Training && s.End().After(last) {
			last = s.End()
			local := last.Add(-beforeEnd).In(zone)
			at = Clock(local.Hour()*60 + local.Minute())
			if !localDay(local, zone).Equal(day) {
				at = 24*60 - 1
			}
		}
	}
	return at
}

// lookBack is how many past days are searched for what never went out.
const lookBack = 3

// Agenda lists the slots whose time came after one instant and up to another, the earliest first, and gives the
// moment of the next one: at the latest the beginning of the next local day, when there are others. slots gives
// those of a local day.
func Agenda(since, now time.Time, zone *time.Location, slots func(day time.Time) []Slot) (due []Slot, next time.Time) {
	y, m, d := now.In(zone).Date()
	next = LocalTime(time.Date(y, m, d+1, 0, 0, 0, 0, time.UTC), 0, 0, zone)
	for !next.After(now) { // on a day the clocks jump over
		next = next.Add(time.Hour)
	}
	for back := lookBack; back >= 0; back-- {
		day := time.Date(y, m, d-back, 0, 0, 0, 0, time.UTC)
		if !exists(day, zone) || back > 0 && !LocalTime(day.AddDate(0, 0, 2), 0, 0, zone).After(since) {
			continue
		}
		for _, s := range slots(day) {
			switch {
			case s.At.After(now) && s.At.Before(next):
				next = s.At
			case s.At.After(since) && !s.At.After(now):
				due = append(due, s)
			}
		}
	}
	slices.SortStableFunc(due, func(x, y Slot) int { return x.At.Compare(y.At) })
	return due, next
}

// exists reports whether a zone has a date: one that moved to the other side of the date line has left one out.
func exists(date time.Time, zone *time.Location) bool {
	return localDay(LocalTime(date, 12, 0, zone), zone).Equal(date)
}

// Paused reports whether an athlete is not reminded for now: ill, or travelling.
func (st State) Paused(now time.Time) bool {
	return slices.ContainsFunc(st.Current(now), func(r Restriction) bool {
		return r.Cause == "travel" || r.Cause == "illness" && r.Level == Unavailable
	})
}
