// Package ics reads a calendar file (iCalendar, RFC 5545) into a team's sessions: every start inside a
// window, with recurrence rules, exceptions and zones worked out. It does no I/O besides looking zones
// up by name, and reads no clock.
//
// A file can be made to repeat without end. All that is worked out is bounded: the size of the file, its
// sessions, and the days its rules walk through (see budget).
package ics

import (
	"cmp"
	"fmt"
	"slices"
	"time"
)

// The limits of a file.
const (
	MaxBytes    = 1 << 20
	MaxSessions = 1000
	maxDay      = 24 * 60 // minutes of the longest session
)

// Window is what is wanted of a file: the sessions that start from one moment up to, but not at, another,
// in the zone that times without one of their own are read in.
type Window struct {
	Zone     *time.Location
	From, To time.Time
}

// Session is one session of a file.
type Session struct {
	UID        string
	Slot       time.Time // when it would start by its series; zero for an event of its own
	Start      time.Time
	Minutes    int // 0 to 1440; 0 where the file names no end
	Sequence   int // of its revision, from 0
	Summary    string
	Categories string
	Line       int // of the file, where its event begins
}

// File is what was read of a file.
type File struct {
	Sessions []Session // by start, then UID
	UIDs     []string  // of the events that were understood, also those without a session now
	Faults   []Fault   // events that were left out, by line

	AllDay    int // events of whole days: no session has no time
	Long      int // events of more than a day
	Cancelled int // events that are called off
	Outside   int // events without a session in the window
	Endless   int // events that repeat without end
}

// Fault says in plain words what is wrong, and where.
type Fault struct {
	Line    int    // of the file, from 1
	Summary string // of the event, where there is one
	Says    string // lower case, without a full stop
}

func (f *Fault) Error() string { return fmt.Sprintf("line %d: %s", f.Line, f.Says) }

func fault(line int, format string, args ...any) *Fault {
	return &Fault{Line: line, Says: fmt.Sprintf(format, args...)}
}

// Read reads a file. The error is a *Fault: the file is no calendar, was cut off, or goes beyond a limit.
// An event that cannot be read is left out together with all of its series, and is among the Faults.
func Read(text []byte, w Window) (File, error) {
	if len(text) > MaxBytes {
		return File{}, fault(1, "the file is over 1 MB")
	}
	lines, err := unfold(text)
	if err != nil {
		return File{}, err
	}
	parts, err := components(lines)
	if err != nil {
		return File{}, err
	}
	r := reader{Window: w, zones: newZones(parts.zones, w), left: budget}
	for _, group := range parts.byUID() {
		if err := r.group(group); err != nil {
			return File{}, err
		}
		if len(r.file.Sessions) > MaxSessions {
			return File{}, fault(group[0].line, "there are more than 1,000 sessions in the time that is read")
		}
	}
	slices.SortFunc(r.file.Sessions, func(x, y Session) int {
		return cmp.Or(x.Start.Compare(y.Start), cmp.Compare(x.UID, y.UID), x.Slot.Compare(y.Slot))
	})
	slices.SortStableFunc(r.file.Faults, func(x, y Fault) int { return x.Line - y.Line })
	return r.file, nil
}

// reader is a file on its way to sessions.
type reader struct {
	Window
	zones zones
	left  int // of the budget
	file  File
}

// group reads all events of one UID: a series with the changes to some of its sessions, or one event. The
// error is for the whole file.
func (r *reader) group(events []*event) error {
	sessions, no := r.series(events)
	if no != nil && r.left <= 0 {
		return no
	}
	first := events[0]
	if no != nil {
		no.Summary = first.text("SUMMARY")
		r.file.Faults = append(r.file.Faults, *no)
		return nil
	}
	r.file.UIDs = append(r.file.UIDs, first.uid())
	if len(sessions) == 0 && !slices.ContainsFunc(events, func(e *event) bool { return e.counted }) {
		r.file.Outside++
	}
	r.file.Sessions = append(r.file.Sessions, sessions...)
	return nil
}
