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
	Series  bool  // one of several that were put in together
	Filed   Filed // what a calendar file said of it; zero for one that was typed
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
type Calendar struct {
	Sessions []Session
	Off      []Filed // sessions of a calendar file that no longer stand: cancelled, or another took their place
}

// FoldCalendar works out the sessions from the squad's live entries, in any order. A move or a
// cancellation of a session that does not stand at that time does nothing: what it was about was
// taken back.
func FoldCalendar(entries []Entry) Calendar {
	f := folding{at: map[place]Session{}, filed: map[slot]place{}, off: map[slot]Filed{}}
	for _, e := range inOrder(entries) {
		f.take(e)
	}
	var c Calendar
	for _, s := range f.at {
		c.Sessions = append(c.Sessions, s)
	}
	slices.SortFunc(c.Sessions, func(x, y Session) int {
		return cmp.Or(x.Start.Compare(y.Start), cmp.Compare(x.What, y.What))
	})
	for _, o := range f.off {
		c.Off = append(c.Off, o)
	}
	slices.SortFunc(c.Off, func(x, y Filed) int { return cmp.Or(cmp.Compare(x.UID, y.UID), x.Slot.Compare(y.Slot)) })
	return c
}

// inOrder gives entries in the order they were first told.
func inOrder(entries []Entry) []Entry {
	ordered := slices.Clone(entries)
	slices.SortFunc(ordered, func(x, y Entry) int {
		return cmp.Or(cmp.Compare(x.Original(), y.Original()), cmp.Compare(x.Seq, y.Seq))
	})
	return ordered
}

// place is what tells a session from others: what it is, and when it starts.
type place struct {
	what  string
	start int64
}

func placeOf(what string, start time.Time) place { return place{what, start.UnixNano()} }

// slot is what tells a session of a file from others, wherever it was moved to.
type slot struct {
	uid string
	at  int64
}

func (f Filed) slot() slot { return slot{f.UID, f.Slot.Unix()} }

// folding is a calendar while its entries are read.
type folding struct {
	at    map[place]Session
	filed map[slot]place
	off   map[slot]Filed
}

func (f *folding) take(e Entry) {
	switch b := e.Body.(type) {
	case Scheduled:
		for _, start := range b.Starts() {
			was := f.drop(placeOf(b.Session, start))
			f.put(Session{b.Session, start, b.Minutes, e.Original(), len(b.More) > 0, was.Filed})
		}
	case Moved:
		if s := f.drop(placeOf(b.Session, b.From)); s.What != "" {
			f.cancel(placeOf(b.Session, b.To))
			s.Start = b.To
			f.put(s)
		}
	case Cancelled:
		for _, start := range b.Starts() {
			f.cancel(placeOf(b.Session, start))
		}
	case Imported:
		f.imported(b, e.Original())
	}
}

// imported takes what a file said: what it no longer has goes first, then what it has comes.
func (f *folding) imported(b Imported, seq int64) {
	for _, gone := range slices.Concat(b.Gone, b.Sessions) {
		delete(f.off, gone.slot())
		if p, stands := f.filed[gone.slot()]; stands {
			f.drop(p)
		}
	}
	for _, s := range b.Sessions {
		f.cancel(placeOf(s.Session, s.Start))
		f.put(Session{s.Session, s.Start, s.Minutes, seq, len(b.Sessions) > 1, s})
	}
}

func (f *folding) put(s Session) {
	p := placeOf(s.What, s.Start)
	f.at[p] = s
	if s.Filed.UID != "" {
		f.filed[s.Filed.slot()] = p
	}
}

// cancel takes out what stands at a place, and remembers what a file said of it.
func (f *folding) cancel(p place) {
	if s := f.drop(p); s.Filed.UID != "" {
		f.off[s.Filed.slot()] = s.Filed
	}
}

// drop takes out what stands at a place, and gives it.
func (f *folding) drop(p place) Session {
	s := f.at[p]
	delete(f.at, p)
	if s.Filed.UID != "" {
		delete(f.filed, s.Filed.slot())
	}
	return s
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
