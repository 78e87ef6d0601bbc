package ics

import (
	"regexp"
	"strconv"
	"strings"
	"time"
)

// moment is a time as a file gives it: what the wall clock shows, as if in UTC, and where.
type moment struct {
	wall time.Time
	in   clock
	day  bool // a date without a time
}

func (m moment) instant() time.Time { return m.in.instant(m.wall) }

// moment reads a property that holds one time.
func (r *reader) moment(p property) (moment, *Fault) {
	list, no := r.moments(p)
	if no == nil && len(list) != 1 {
		no = fault(p.line, "%s needs one time", p.name)
	}
	if no != nil {
		return moment{}, no
	}
	return list[0], nil
}

// moments reads a property that holds times: of a zone, in UTC, or floating (RFC 5545, 3.3.5).
func (r *reader) moments(p property) ([]moment, *Fault) {
	if kind := strings.ToUpper(p.param("VALUE")); kind == "PERIOD" {
		return nil, fault(p.line, "%s lists periods, which I cannot read", p.name)
	}
	in := clock{place: r.Zone}
	if name := p.param("TZID"); name != "" {
		var ok bool
		if in, ok = r.zones.find(name, r); !ok {
			return nil, fault(p.line, "I do not know the zone “%s”", clip(name))
		}
	}
	var out []moment
	for _, text := range strings.Split(p.value, ",") {
		m, ok := wall(strings.TrimSpace(text))
		if !ok {
			return nil, fault(p.line, "“%s” is no time", clip(text))
		}
		if m.in.place == nil {
			m.in = in
		}
		out = append(out, m)
	}
	return out, nil
}

// wall reads 19970714, 19970714T133000 or 19970714T173000Z. The second 60 counts as 59.
func wall(text string) (moment, bool) {
	text = strings.ToUpper(text)
	if len(text) == len("20060102") {
		t, err := time.Parse("20060102", text)
		return moment{wall: t, day: true}, err == nil && t.Year() > 0
	}
	var m moment
	if rest, utc := strings.CutSuffix(text, "Z"); utc {
		text, m.in = rest, clock{place: time.UTC}
	}
	if strings.HasSuffix(text, "60") {
		text = strings.TrimSuffix(text, "60") + "59"
	}
	t, err := time.Parse("20060102T150405", text)
	m.wall = t.Truncate(time.Minute)
	return m, err == nil && t.Year() > 0
}

var durationShape = regexp.MustCompile(`^([+-])?P(?:(\d{1,4})W|(?:(\d{1,5})D)?(?:T(?:(\d{1,6})H)?(?:(\d{1,6})M)?(?:(\d{1,6})S)?)?)$`)

// duration reads PT1H30M, P1D or P2W (RFC 5545, 3.3.6).
func duration(text string) (time.Duration, bool) {
	m := durationShape.FindStringSubmatch(strings.ToUpper(text))
	if m == nil || strings.HasSuffix(text, "P") || strings.HasSuffix(text, "T") {
		return 0, false
	}
	var d time.Duration
	for i, unit := range []time.Duration{7 * 24 * time.Hour, 24 * time.Hour, time.Hour, time.Minute, time.Second} {
		n, _ := strconv.Atoi(m[i+2])
		d += time.Duration(n) * unit
	}
	if m[1] == "-" {
		d = -d
	}
	return d, true
}

// length is how long an event lasts; 0 when the file names no end.
func (r *reader) length(e *event, start moment) (time.Duration, *Fault) {
	d := time.Duration(0)
	if p, ok := e.get("DURATION"); ok {
		if d, ok = duration(p.value); !ok {
			return 0, fault(p.line, "“%s” is no duration", clip(p.value))
		}
	} else if p, ok := e.get("DTEND"); ok {
		end, no := r.moment(p)
		if no != nil {
			return 0, no
		}
		d = end.instant().Sub(start.instant())
	}
	if d < 0 {
		return 0, fault(e.line, "it ends before it starts")
	}
	return d, nil
}

// clip is the beginning of a text, for naming it.
func clip(s string) string {
	if letters := []rune(s); len(letters) > 40 {
		return string(letters[:40]) + "…"
	}
	return s
}
