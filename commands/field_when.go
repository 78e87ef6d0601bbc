package commands

import (
	"slices"
	"time"
)

// whenPhrases are the words a slip may be mended into: the full names only.
var whenPhrases = func() []phrase {
	out := slices.Concat(phrases("yesterday", "yesterday"), phrases("today", "today"))
	for _, names := range weekdays {
		out = append(out, phrases(names[0], names[len(names)-1])...)
	}
	return out
}()

// When is a field that takes the time something happened: today, yesterday, a weekday (the last one),
// a date, a clock time, a while ago, or a day and a time. A time to come is refused: facts lie in the
// past. A day without a time means noon, or now when it is today.
func When(to *time.Time) Field { return when(to, false) }

// WhenAmongValues is When in a line of values, where 9/12 is a pair and 17.40 a value.
func WhenAmongValues(to *time.Time) Field { return when(to, true) }

func when(to *time.Time, amongValues bool) Field {
	var said instant
	set := func(r *reader, at instant) error {
		if at.day != nil && said.day != nil && !at.day.Equal(*said.day) || at.clock != nil && said.clock != nil && !at.clock.Equal(*said.clock) {
			return refuse("Two times are given. Say one.")
		}
		if at.day != nil {
			said.day = at.day
		}
		if at.clock != nil {
			said.clock = at.clock
		}
		*to = moment(r.lang.Now, said.day, said.clock)
		return nil
	}
	var future func() error
	return Field{
		Name: "when", Usage: "yesterday | tue | 18:40 | 5pm | 20 min ago | 28/2 | 1 March", Optional: true, many: true,
		Kind: KindTime, offers: pastDays,
		words: func(*Lang) []phrase { return whenPhrases },
		match: func(r *reader) (int, func() error, error) {
			switch {
			case r.has([]string{"just", "now"}):
				return 2, func() error { return nil }, nil
			case r.has([]string{"right", "now"}):
				return 2, func() error {
					return refuse("“right now”: the right ankle, or this minute? Leave out “now”, or say the ankle. Nothing was saved.")
				}, nil
			}
			now := r.lang.Now
			future = func() error {
				if to.After(now) {
					return refuse("%s is still to come. Facts lie in the past; for last night type: yesterday 18:40.", to.Format("Mon 2 Jan 2006 15:04"))
				}
				return nil
			}
			at, n, err := whenAt(r, amongValues)
			return n, func() error { return set(r, at) }, err
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
