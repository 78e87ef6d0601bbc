package rehab

import (
	"cmp"
	"slices"
	"time"
)

// What a session can be.
const (
	Training = "training"
	Match    = "match"
)

// Session is one training session or match of the team. What it is and its start tell it from others.
type Session struct {
	What    string // Training or Match
	Start   time.Time
	Minutes int
	Seq     int64 // of the entry that scheduled it, as first told
}

// End is when it is over.
func (s Session) End() time.Time { return s.Start.Add(time.Duration(s.Minutes) * time.Minute) }

// Overlaps reports whether two sessions have a moment in common.
func (s Session) Overlaps(o Session) bool { return s.Start.Before(o.End()) && o.Start.Before(s.End()) }

// DayType is what a local day is to the team. Football writes them as distance to the match; of the
// days before it only the last is told apart here (common practice).
type DayType string

// The day types, the one that wins first.
const (
	MatchDay    DayType = "match"
	DayBefore   DayType = "day before a match" // with or without training
	TrainingDay DayType = "training"
	RestDay     DayType = "rest"
)

// Calendar is the team's sessions, by start.
type Calendar struct{ Sessions []Session }

// FoldCalendar works out the sessions from the squad's live entries, in any order. A move or a
// cancellation of a session that does not stand at that time does nothing: what it was about was
// taken back.
func FoldCalendar(entries []Entry) Calendar {
	ordered := slices.Clone(entries)
	slices.SortFunc(ordered, func(x, y Entry) int {
		return cmp.Or(cmp.Compare(x.Original(), y.Original()), cmp.Compare(x.Seq, y.Seq))
	})
	var c Calendar
	for _, e := range ordered {
		switch b := e.Body.(type) {
		case Scheduled:
			c.drop(b.Session, b.Start)
			c.Sessions = append(c.Sessions, Session{b.Session, b.Start, b.Minutes, e.Original()})
		case Moved:
			if s, stands := c.Find(b.Session, b.From); stands {
				c.drop(b.Session, b.From)
				c.drop(b.Session, b.To)
				s.Start = b.To
				c.Sessions = append(c.Sessions, s)
			}
		case Cancelled:
			c.drop(b.Session, b.Start)
		}
	}
	slices.SortFunc(c.Sessions, func(x, y Session) int {
		return cmp.Or(x.Start.Compare(y.Start), cmp.Compare(x.What, y.What))
	})
	return c
}

func (c *Calendar) drop(what string, start time.Time) {
	c.Sessions = slices.DeleteFunc(c.Sessions, func(s Session) bool { return s.What == what && s.Start.Equal(start) })
}

// Find gives the session of that kind that starts at a time.
func (c Calendar) Find(what string, start time.Time) (Session, bool) {
	for _, s := range c.Sessions {
		if s.What == what && s.Start.Equal(start) {
			return s, true
		}
	}
	return Session{}, false
}

// Between lists the sessions that start from one moment up to, but not at, another.
func (c Calendar) Between(from, to time.Time) []Session {
	var out []Session
	for _, s := range c.Sessions {
		if !s.Start.Before(from) && s.Start.Before(to) {
			out = append(out, s)
		}
	}
	return out
}

// On lists the sessions that start on the local day of a moment. One that goes on past midnight
// belongs to the day it starts on.
func (c Calendar) On(day time.Time, zone *time.Location) []Session {
	return c.on(localDay(day, zone), zone)
}

func (c Calendar) on(date time.Time, zone *time.Location) []Session {
	var out []Session
	for _, s := range c.Sessions {
		if localDay(s.Start, zone).Equal(date) {
			out = append(out, s)
		}
	}
	return out
}

// Type is what the local day of a moment is to the team: that of a match, the one before it, one with
// training, or rest. The first that fits counts.
func (c Calendar) Type(day time.Time, zone *time.Location) DayType {
	date := localDay(day, zone)
	match := func(s Session) bool { return s.What == Match }
	switch {
	case slices.ContainsFunc(c.on(date, zone), match):
		return MatchDay
	case slices.ContainsFunc(c.on(date.AddDate(0, 0, 1), zone), match):
		return DayBefore
	case len(c.on(date, zone)) > 0:
		return TrainingDay
	}
	return RestDay
}

// NextMatch is the first match that starts after a moment; ok is false when none is in the calendar.
func (c Calendar) NextMatch(after time.Time) (m Session, ok bool) {
	for _, s := range c.Sessions {
		if s.What == Match && s.Start.After(after) {
			return s, true
		}
	}
	return Session{}, false
}
