package ics

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"footing/rehab"
)

// clock turns what a wall clock shows into an instant and back: that of a place, or one whose changes a
// file lists.
type clock struct {
	place   *time.Location
	changes []change
}

// change is when the clocks go from one offset to another, in seconds east of UTC.
type change struct {
	wall     time.Time // what they show at that moment, as if in UTC
	from, to int
}

// instant follows RFC 5545, 3.3.5: a time that the clocks jump over uses the offset before the jump, one
// that they show twice is the first.
func (c clock) instant(wall time.Time) time.Time {
	if c.place != nil {
		return rehab.LocalTime(wall, wall.Hour(), wall.Minute(), c.place).UTC()
	}
	offset := c.changes[0].from
	for _, x := range c.changes {
		if jump := time.Duration(max(0, x.to-x.from)) * time.Second; wall.Before(x.wall.Add(jump)) {
			break
		}
		offset = x.to
	}
	return wall.Add(-time.Duration(offset) * time.Second)
}

// shows is what the wall clock shows at an instant, as if in UTC.
func (c clock) shows(t time.Time) time.Time {
	if c.place != nil {
		y, m, d := t.In(c.place).Date()
		hour, minute, second := t.In(c.place).Clock()
		return time.Date(y, m, d, hour, minute, second, 0, time.UTC)
	}
	offset := c.changes[0].from
	for _, x := range c.changes {
		if t.Before(x.wall.Add(-time.Duration(x.from) * time.Second)) {
			break
		}
		offset = x.to
	}
	return t.UTC().Add(time.Duration(offset) * time.Second)
}

// zones are the clocks a file names.
type zones struct {
	defined map[string]*zone
	known   map[string]clock
	unknown map[string]bool
	Window
}

func newZones(list []*zone, w Window) zones {
	z := zones{map[string]*zone{}, map[string]clock{}, map[string]bool{}, w}
	for _, d := range list {
		z.defined[d.name] = d
	}
	return z
}

// find gives the clock of a name: of the place it names, or by the file's own definition. Names differ: an
// IANA zone, one with a prefix, or a program's own word for it.
func (z zones) find(name string, r *reader) (clock, bool) {
	if c, ok := z.known[name]; ok || z.unknown[name] {
		return c, ok
	}
	names := []string{name}
	d := z.defined[name]
	if d != nil && d.location != "" {
		names = append(names, d.location)
	}
	for rest := name; strings.Contains(rest, "/"); {
		_, rest, _ = strings.Cut(rest, "/")
		if strings.Contains(rest, "/") { // "/prefix/Europe/Berlin", never "Berlin"
			names = append(names, rest)
		}
	}
	for _, n := range names {
		if place, err := time.LoadLocation(n); err == nil && n != "" && n != "Local" {
			z.known[name] = clock{place: place}
			return z.known[name], true
		}
	}
	if d != nil {
		if changes, ok := r.changes(d); ok {
			z.known[name] = clock{changes: changes}
			return z.known[name], true
		}
	}
	z.unknown[name] = true
	return clock{}, false
}

// before is how many years ahead of the window a zone's changes are worked out.
const before = 2

// changes works out a zone's changes around the window from its definition (RFC 5545, 3.6.5). ok is false
// when the definition cannot be read.
func (r *reader) changes(d *zone) ([]change, bool) {
	var out []change
	for _, part := range d.parts {
		from, ok := offset(part.props["TZOFFSETFROM"].value)
		to, ok2 := offset(part.props["TZOFFSETTO"].value)
		start, ok3 := wall(part.props["DTSTART"].value)
		if !ok || !ok2 || !ok3 {
			return nil, false
		}
		onsets := []time.Time{start.wall}
		if p, repeats := part.props["RRULE"]; repeats {
			first := start.wall
			if year := r.From.Year() - before; first.Year() < year && yearly(p.value) {
				first = time.Date(year, first.Month(), first.Day(), first.Hour(), first.Minute(), 0, 0, time.UTC)
			}
			in := clock{changes: []change{{first, from, from}}}
			walls, no := r.rule(p, moment{wall: first, in: in}, r.From.AddDate(-before, 0, 0), r.To)
			if no != nil {
				return nil, false
			}
			onsets = append(onsets, walls...)
		}
		if p, dates := part.props["RDATE"]; dates {
			for _, text := range strings.Split(p.value, ",") {
				m, ok := wall(text)
				if !ok {
					return nil, false
				}
				onsets = append(onsets, m.wall)
			}
		}
		for _, w := range onsets {
			out = append(out, change{w, from, to})
		}
	}
	slices.SortFunc(out, func(x, y change) int { return x.wall.Compare(y.wall) })
	return out, len(out) > 0
}

// yearly reports whether a rule says the same of every year without end, so that it may be taken up in a
// later one: programs begin theirs in 1601.
func yearly(rule string) bool {
	rule = strings.ToUpper(rule)
	return strings.Contains(rule, "FREQ=YEARLY") && !strings.Contains(rule, "UNTIL=") && !strings.Contains(rule, "COUNT=") && !strings.Contains(rule, "INTERVAL=")
}

// offset reads +0100, -0330 or +012345 as seconds.
func offset(text string) (int, bool) {
	if len(text) != 5 && len(text) != 7 || text[0] != '+' && text[0] != '-' {
		return 0, false
	}
	n, err := strconv.Atoi(text[1:])
	if len(text) == 5 {
		n *= 100
	}
	s := n/10000*3600 + n/100%100*60 + n%100
	if text[0] == '-' {
		s = -s
	}
	return s, err == nil && n >= 0 && s > -24*3600 && s < 24*3600
}
