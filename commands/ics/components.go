package ics

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
)

// event is one VEVENT: its properties by name.
type event struct {
	line    int
	props   map[string][]property
	broken  *Fault // a line of it that cannot be read
	off     bool   // the whole file takes its events back
	counted bool   // it is among the events that are no sessions
}

// observance is one part of a zone's definition: standard time or daylight saving time.
type observance struct{ props map[string]property }

// zone is one VTIMEZONE.
type zone struct {
	name, location string
	parts          []observance
}

// parts is what a file holds.
type parts struct {
	events []*event
	zones  []*zone
}

// read are the properties of an event that say something of a session.
var read = []string{"UID", "SEQUENCE", "DTSTART", "DTEND", "DURATION", "RRULE", "RDATE", "EXDATE", "EXRULE", "RECURRENCE-ID", "STATUS", "SUMMARY", "CATEGORIES"}

// deepest is how far components may lie inside each other; an alarm of an event is the third.
const deepest = 10

// components sorts the lines of a file into its events and zones.
func components(lines []line) (parts, error) {
	p := sorter{}
	for i, l := range lines {
		name := l.name()
		if i == 0 && (name != "BEGIN" || l.value() != "VCALENDAR") {
			return p.parts, fault(l.no, "this is no calendar file: it does not begin with BEGIN:VCALENDAR")
		}
		var err *Fault
		switch name {
		case "BEGIN":
			err = p.begin(l)
		case "END":
			err = p.end(l)
		default:
			p.property(l, name)
		}
		if err != nil {
			return p.parts, err
		}
	}
	switch {
	case len(lines) == 0:
		return p.parts, fault(1, "the file is empty")
	case len(p.inside) > 0:
		last := p.inside[len(p.inside)-1]
		return p.parts, fault(lines[len(lines)-1].no, "the file was cut off: %s of line %d has no end", last.value(), last.no)
	}
	return p.parts, nil
}

// value is what stands behind the name of BEGIN or END.
func (l line) value() string {
	_, v, _ := strings.Cut(l.text, ":")
	return strings.ToUpper(strings.TrimSpace(v))
}

type sorter struct {
	parts
	inside []line // the BEGIN lines that are open
	off    bool   // METHOD:CANCEL
}

// in reports whether the innermost open components are those, the innermost last.
func (p *sorter) in(names ...string) bool {
	if len(p.inside) < len(names) {
		return false
	}
	for i, name := range names {
		if p.inside[len(p.inside)-len(names)+i].value() != name {
			return false
		}
	}
	return true
}

func (p *sorter) begin(l line) *Fault {
	if len(p.inside) == deepest {
		return fault(l.no, "there are too many parts inside each other")
	}
	if len(p.inside) == 0 {
		if l.value() != "VCALENDAR" {
			return fault(l.no, "%s stands outside of any calendar", l.value())
		}
		p.off = false
	}
	p.inside = append(p.inside, l)
	switch {
	case p.in("VCALENDAR", "VEVENT"):
		p.events = append(p.events, &event{line: l.no, props: map[string][]property{}, off: p.off})
	case p.in("VCALENDAR", "VTIMEZONE"):
		p.zones = append(p.zones, &zone{})
	case p.in("VTIMEZONE", "STANDARD"), p.in("VTIMEZONE", "DAYLIGHT"):
		z := p.zones[len(p.zones)-1]
		z.parts = append(z.parts, observance{map[string]property{}})
	}
	return nil
}

func (p *sorter) end(l line) *Fault {
	if len(p.inside) == 0 {
		return fault(l.no, "END:%s closes nothing", l.value())
	}
	open := p.inside[len(p.inside)-1]
	if open.value() != l.value() {
		return fault(l.no, "END:%s does not close BEGIN:%s of line %d", l.value(), open.value(), open.no)
	}
	p.inside = p.inside[:len(p.inside)-1]
	return nil
}

func (p *sorter) property(l line, name string) {
	switch {
	case p.in("VCALENDAR", "VEVENT") && slices.Contains(read, name):
		e := p.events[len(p.events)-1]
		if v, ok := l.property(); ok {
			e.props[name] = append(e.props[name], v)
		} else if e.broken == nil {
			e.broken = fault(l.no, "I cannot read its %s", name)
		}
	case p.in("VCALENDAR") && name == "METHOD":
		v, ok := l.property()
		p.off = ok && strings.EqualFold(v.value, "CANCEL")
	case p.in("VTIMEZONE"):
		if v, ok := l.property(); ok && name == "TZID" {
			p.zones[len(p.zones)-1].name = v.value
		} else if ok && name == "X-LIC-LOCATION" {
			p.zones[len(p.zones)-1].location = v.value
		}
	case p.in("VTIMEZONE", "STANDARD"), p.in("VTIMEZONE", "DAYLIGHT"):
		z := p.zones[len(p.zones)-1]
		if v, ok := l.property(); ok && len(z.parts) > 0 {
			z.parts[len(z.parts)-1].props[name] = v
		}
	}
}

// get gives a property of an event; one that is there several times by the last.
func (e *event) get(name string) (property, bool) {
	list := e.props[name]
	if len(list) == 0 {
		return property{}, false
	}
	return list[len(list)-1], true
}

// mostText is how much is kept of a text, in bytes.
const mostText = 200

func (e *event) text(name string) string {
	p, _ := e.get(name)
	text := strings.Join(strings.Fields(p.value), " ")
	if len(text) > mostText {
		text = strings.ToValidUTF8(text[:mostText], "")
	}
	return text
}

// uid tells an event from others. One without is told by its time and its title, so that the same file
// means the same events again.
func (e *event) uid() string {
	p, _ := e.get("UID")
	start, _ := e.get("DTSTART")
	uid := cmp.Or(p.value, "no-uid "+start.value+" "+e.text("SUMMARY"))
	return uid[:min(len(uid), longestUID)]
}

const longestUID = 500

func (e *event) sequence() int {
	p, _ := e.get("SEQUENCE")
	n, err := strconv.Atoi(p.value)
	if err != nil || n < 0 {
		return 0
	}
	return n
}

func (e *event) cancelled() bool {
	p, _ := e.get("STATUS")
	return e.off || strings.EqualFold(p.value, "CANCELLED")
}

// byUID gathers the events of each UID, in the order of the file.
func (p parts) byUID() [][]*event {
	at := map[string]int{}
	var out [][]*event
	for _, e := range p.events {
		uid := e.uid()
		i, known := at[uid]
		if !known {
			i = len(out)
			at[uid], out = i, append(out, nil)
		}
		out[i] = append(out[i], e)
	}
	return out
}
