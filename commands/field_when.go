package commands

import (
	"slices"
	"strconv"
	"strings"
	"time"
)

var weekdays = [][]string{
	{"sun", "sunday"}, {"mon", "monday"}, {"tue", "tues", "tuesday"}, {"wed", "weds", "wednesday"},
	{"thu", "thur", "thurs", "thursday"}, {"fri", "friday"}, {"sat", "saturday"},
}

// whenPhrases are the words a slip may be mended into: the full names only.
var whenPhrases = func() []phrase {
	out := slices.Concat(phrases("yesterday", "yesterday"), phrases("today", "today"))
	for _, names := range weekdays {
		out = append(out, phrases(names[0], names[len(names)-1])...)
	}
	return out
}()

// When is a field that takes the time something happened: today, yesterday, a weekday (the last one),
// a date, a clock time, or a day and a time. A time to come is refused: facts lie in the past. A day
// without a time means noon, or now when it is today.
func When(to *time.Time) Field {
	var day, clock *time.Time
	set := func(r *reader, d, c *time.Time) error {
		if d != nil && day != nil && !d.Equal(*day) || c != nil && clock != nil && !c.Equal(*clock) {
			return refuse("Two times are given. Say one.")
		}
		if d != nil {
			day = d
		}
		if c != nil {
			clock = c
		}
		*to = moment(r.lang.Now, day, clock)
		return nil
	}
	var future func() error
	return Field{
		Name: "when", Usage: "yesterday | tue | 18:40 | 2026-03-01", Optional: true, many: true,
		words: func(*Lang) []phrase { return whenPhrases },
		match: func(r *reader) (int, func() error, error) {
			now := r.lang.Now
			future = func() error {
				if to.After(now) {
					return refuse("%s is still to come. Facts lie in the past; for last night type: yesterday 18:40.", to.Format("Mon 2 Jan 2006 15:04"))
				}
				return nil
			}
			if d, ok := dayWord(r.peek(0), now, false); ok {
				return 1, func() error { return set(r, &d, nil) }, nil
			}
			if c, ok := clockWord(r.peek(0)); ok {
				return 1, func() error { return set(r, nil, &c) }, nil
			}
			return 0, nil, nil
		},
		text: func() string {
			if to.IsZero() {
				return ""
			}
			return to.Format("2006-01-02 15:04")
		},
		check: func() error {
			if to.IsZero() || future == nil {
				return nil
			}
			return future()
		},
	}
}

// dayWord reads a word that names a day, as its midnight. A weekday is the last one, or the next one
// where days to come are meant; both count today.
func dayWord(w string, now time.Time, ahead bool) (time.Time, bool) {
	today := time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, now.Location())
	switch w {
	case "today":
		return today, true
	case "yesterday", "yday", "yest":
		return today.AddDate(0, 0, -1), true
	case "tomorrow", "tmrw":
		return today.AddDate(0, 0, 1), ahead
	}
	for i, names := range weekdays {
		if slices.Contains(names, w) {
			if ahead {
				return today.AddDate(0, 0, (i-int(now.Weekday())+7)%7), true
			}
			back := (int(now.Weekday()) - i + 7) % 7
			return today.AddDate(0, 0, -back), true
		}
	}
	d, err := time.ParseInLocation(time.DateOnly, w, now.Location())
	return d, err == nil && d.Year() >= 1900
}

func clockWord(w string) (time.Time, bool) {
	h, m, ok := strings.Cut(w, ":")
	hour, err1 := strconv.Atoi(h)
	minute, err2 := strconv.Atoi(m)
	if !ok || err1 != nil || err2 != nil || hour > 23 || minute > 59 {
		return time.Time{}, false
	}
	return time.Date(0, 1, 1, hour, minute, 0, 0, time.UTC), true
}

// moment joins a day and a clock time; what is missing comes from now.
func moment(now time.Time, day, clock *time.Time) time.Time {
	d := now
	if day != nil {
		d = *day
	}
	switch {
	case clock != nil:
		return time.Date(d.Year(), d.Month(), d.Day(), clock.Hour(), clock.Minute(), 0, 0, now.Location())
	case day != nil && (day.Year() != now.Year() || day.YearDay() != now.YearDay()):
		return time.Date(d.Year(), d.Month(), d.Day(), 12, 0, 0, 0, now.Location())
	}
	return now.Truncate(time.Minute)
}
