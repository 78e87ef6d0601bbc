package ics

import (
	"strings"
	"time"

	"github.com/teambition/rrule-go"
)

const (
	// budget is how many days the rules of one file may walk through, all together: five hundred series
	// of ten years. What walks on is made to keep the reader busy.
	budget = 2_000_000
	// never is what a rule costs that found no further day up to the last year there is.
	never = budget / 4

	longestRule  = 500 // bytes
	mostTimes    = 100 // that a rule may name on one day
	widestStep   = 10_000
	minutesOfDay = 24 * 60
)

// rule lists what the wall clock shows at the starts of a rule, from a day before a moment to a day after
// another. The library walks on its own where a rule finds no day: what makes it walk for ever is refused
// before, and what it walked is counted.
func (r *reader) rule(p property, start moment, from, to time.Time) ([]time.Time, *Fault) {
	opt, until, no := r.options(p, start)
	if no != nil {
		return nil, no
	}
	rule, err := rrule.NewRRule(opt)
	if err != nil {
		return nil, unread(p)
	}
	from, to = from.UTC().AddDate(0, 0, -1), to.UTC().AddDate(0, 0, 1)
	var out []time.Time
	next, last, n := rule.Iterator(), start.wall, 0
	for {
		at, ok := next()
		if !ok && opt.Count > 0 && n == opt.Count {
			return out, nil
		}
		if r.spend(opt, at, last, ok); r.left <= 0 {
			return nil, fault(p.line, "the rules of this file repeat too often, or for too long, to be those of a team")
		}
		if !ok {
			return nil, fault(p.line, "its rule “%s” never comes to another day", clip(p.value))
		}
		if at.After(to) || !until.IsZero() && at.After(until) {
			return out, nil
		}
		if n, last = n+1, at; !at.Before(from) {
			out = append(out, at)
		}
	}
}

// spend counts the days between two starts of a rule.
func (r *reader) spend(opt rrule.ROption, at, last time.Time, ok bool) {
	days := int(at.Sub(last).Hours()/24) + 1
	switch {
	case !ok:
		days = never
	case opt.Freq > rrule.DAILY:
		days *= 50 // it walks by the minute
	}
	r.left -= days
}

// options reads a rule and refuses what no team means. The end is given apart, in wall time: the library
// looks at it only where it finds a day.
func (r *reader) options(p property, start moment) (opt rrule.ROption, until time.Time, no *Fault) {
	text := strings.ToUpper(strings.Trim(p.value, "; "))
	read, err := rrule.StrToROption(text)
	if err != nil || len(text) > longestRule || strings.Contains(text, "DTSTART") {
		return opt, until, unread(p)
	}
	opt = *read
	for _, part := range strings.Split(text, ";") {
		name, value, _ := strings.Cut(part, "=")
		switch {
		case name == "COUNT" && opt.Count < 1, name == "INTERVAL" && (opt.Interval < 1 || opt.Interval > widestStep):
			return opt, until, unread(p)
		case name == "UNTIL":
			m, ok := wall(value)
			if !ok {
				return opt, until, unread(p)
			}
			until = m.wall
			if m.day {
				until = until.Add(24*time.Hour - time.Minute)
			} else if m.in.place != nil {
				until = start.in.shows(m.wall)
			}
		}
	}
	opt.Dtstart, opt.Until = start.wall, time.Time{}
	within := opt.Freq > rrule.DAILY
	days := len(opt.Bymonth) + len(opt.Bymonthday) + len(opt.Byyearday) + len(opt.Byweekno) + len(opt.Byweekday) + len(opt.Bysetpos)
	switch {
	case opt.Freq == rrule.SECONDLY, len(opt.Bysecond) > 0, len(opt.Byeaster) > 0,
		max(1, len(opt.Byhour))*max(1, len(opt.Byminute)) > mostTimes, within && days > 0, within && !meets(opt):
		return opt, until, fault(p.line, "its rule “%s” is none that a team trains by", clip(p.value))
	}
	return opt, until, nil
}

func unread(p property) *Fault {
	return fault(p.line, "I cannot read its rule “%s”", clip(p.value))
}

// meets reports whether a rule that repeats within the day ever comes to a time it names: "every two hours
// from nine, at ten" never does, and the library would look for ever.
func meets(opt rrule.ROption) bool {
	step := max(1, opt.Interval)
	if opt.Freq == rrule.HOURLY {
		step *= 60
	}
	hour, minute, _ := opt.Dtstart.Clock()
	at := hour*60 + minute
	for range minutesOfDay {
		if names(opt.Byhour, at/60) && (opt.Freq == rrule.HOURLY || names(opt.Byminute, at%60)) {
			return true
		}
		at = (at + step) % minutesOfDay
	}
	return false
}

func names(list []int, n int) bool {
	if len(list) == 0 {
		return true
	}
	for _, v := range list {
		if v == n {
			return true
		}
	}
	return false
}
