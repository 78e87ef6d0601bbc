package ics

import (
	"slices"
	"strings"
	"time"
)

// series works out the sessions of one UID inside the window.
func (r *reader) series(events []*event) ([]Session, *Fault) {
	master, changed, no := r.split(events)
	if no != nil {
		return nil, no
	}
	slots := map[int64]Session{}
	if master != nil {
		starts, no := r.starts(master)
		if no != nil {
			return nil, no
		}
		for _, s := range starts {
			slots[s.Slot.Unix()] = s
		}
		if master.cancelled() {
			master.counted = true
			r.file.Cancelled++
			return nil, nil
		}
	}
	for _, c := range changed {
		delete(slots, c.slot.Unix())
		if c.event.cancelled() {
			continue // whatever else it says
		}
		s, no := r.one(c.event)
		switch {
		case no != nil:
			return nil, no
		case s != nil && c.day:
			return nil, fault(c.event.line, "it changes the session of a day without saying which (RECURRENCE-ID)")
		case s != nil:
			s.Slot = c.slot
			slots[c.slot.Unix()] = *s
		}
	}
	alone := master != nil && len(changed)+len(master.props["RRULE"])+len(master.props["RDATE"]) == 0
	var out []Session
	for _, s := range slots {
		if alone {
			s.Slot = time.Time{} // it stays the same event when it is moved
		}
		if !s.Start.Before(r.From) && s.Start.Before(r.To) {
			out = append(out, s)
		}
	}
	slices.SortFunc(out, func(x, y Session) int { return x.Slot.Compare(y.Slot) })
	return out, nil
}

// override is a change to one session of a series.
type override struct {
	slot  time.Time
	day   bool // the slot is a date without a time
	event *event
}

// split tells a series from the changes to its sessions. Of two that say the same, the later revision
// counts, and of two alike the one further down.
func (r *reader) split(events []*event) (master *event, changed []override, no *Fault) {
	for _, e := range events {
		if e.broken != nil {
			return nil, nil, e.broken
		}
		p, changes := e.get("RECURRENCE-ID")
		if !changes {
			if master == nil || e.sequence() >= master.sequence() {
				master = e
			}
			continue
		}
		if strings.EqualFold(p.param("RANGE"), "THISANDFUTURE") {
			return nil, nil, fault(p.line, "it changes a session and all later ones at once, which I cannot read")
		}
		m, no := r.moment(p)
		if no != nil {
			return nil, nil, no
		}
		changed = append(changed, override{m.instant(), m.day, e})
	}
	slices.SortStableFunc(changed, func(x, y override) int { return x.event.sequence() - y.event.sequence() })
	return master, changed, nil
}

// one reads an event by itself, nil when it is no session.
func (r *reader) one(e *event) (*Session, *Fault) {
	p, ok := e.get("DTSTART")
	if !ok {
		return nil, fault(e.line, "it has no start (DTSTART)")
	}
	start, no := r.moment(p)
	if no != nil {
		return nil, no
	}
	length, no := r.length(e, start)
	switch {
	case no != nil:
		return nil, no
	case start.day || length > maxDay*time.Minute:
		if !e.counted && start.day {
			r.file.AllDay++
		} else if !e.counted {
			r.file.Long++
		}
		e.counted = true
		return nil, nil
	}
	at := start.instant()
	return &Session{UID: e.uid(), Slot: at, Start: at, Minutes: int(length.Minutes()), Sequence: e.sequence(), Summary: e.text("SUMMARY"), Categories: e.text("CATEGORIES"), Line: e.line}, nil
}

// starts lists the sessions of an event and its rules around the window, without those it excepts.
func (r *reader) starts(e *event) ([]Session, *Fault) {
	first, no := r.one(e)
	if first == nil || no != nil {
		return nil, no
	}
	if list := e.props["EXRULE"]; len(list) > 0 {
		return nil, fault(list[0].line, "it has an EXRULE, which the standard dropped")
	}
	p, _ := e.get("DTSTART")
	start, _ := r.moment(p)
	at := []time.Time{first.Start}
	for _, p := range e.props["RRULE"] {
		walls, no := r.rule(p, start, r.From, r.To)
		if no != nil {
			return nil, no
		}
		for _, w := range walls {
			at = append(at, start.in.instant(w))
		}
		if text := strings.ToUpper(p.value); !strings.Contains(text, "UNTIL=") && !strings.Contains(text, "COUNT=") && !e.cancelled() {
			r.file.Endless++
		}
	}
	more, _, no := r.dates(e, "RDATE")
	if no != nil {
		return nil, no
	}
	times, days, no := r.dates(e, "EXDATE")
	if no != nil {
		return nil, no
	}
	var out []Session
	for _, t := range append(at, more...) {
		day := start.in.shows(t).Truncate(24 * time.Hour)
		if slices.ContainsFunc(times, t.Equal) || slices.ContainsFunc(days, day.Equal) {
			continue
		}
		s := *first
		s.Slot, s.Start = t, t
		out = append(out, s)
	}
	return out, nil
}

// dates reads a property that lists times, or whole days.
func (r *reader) dates(e *event, name string) (times, days []time.Time, no *Fault) {
	for _, p := range e.props[name] {
		list, no := r.moments(p)
		if no != nil {
			return nil, nil, no
		}
		for _, m := range list {
			if m.day {
				days = append(days, m.wall)
			} else {
				times = append(times, m.instant())
			}
		}
	}
	return times, days, nil
}
