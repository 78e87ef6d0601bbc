package commands

import (
	"strings"
	"time"

	"footing/rehab"
)

// AtClock is a field that takes a wall time: "18:00", "6pm".
func AtClock(to *string) Field {
	return Field{
		Name: "at", Usage: "18:00", Optional: true, words: func(*Lang) []phrase { return nil },
		match: func(r *reader) (int, func() error, error) {
			mark := boolInt(r.peek(0) == "at")
			clock, n := clockAt(r.skip(mark), false, mark == 1)
			if n == 0 {
				return 0, nil, nil
			}
			return mark + n, func() error { return once("time", to, clock.Format("15:04")) }, nil
		},
		text: func() string { return *to },
	}
}

var quietKey = phrases("quiet", "quiet", "quiet hours", "quiet from")

// Quiet is a field that takes the hours in which nothing is sent: "quiet 21:00-07:00", "quiet off".
func Quiet(to *string) Field {
	return Field{
		Name: "quiet", Usage: "quiet 21:00-07:00", About: "hours in which nothing is sent: 21:00-07:00, or off", Optional: true, lead: "quiet ",
		words: func(*Lang) []phrase { return quietKey },
		match: func(r *reader) (int, func() error, error) {
			_, n := longest(r, quietKey)
			if n == 0 {
				return 0, nil, nil
			}
			q := r.skip(n)
			if q.peek(0) == "off" || q.peek(0) == "none" {
				return n + 1, func() error { return once("quiet", to, "off") }, nil
			}
			from, a := clockAt(q, false, true)
			end, b := q.skip(a).endClock()
			return n + a + b, func() error {
				if a == 0 || b == 0 {
					return refuse("Quiet hours need two times: quiet 21:00-07:00, or quiet off. Nothing was saved.")
				}
				s := rehab.Span{From: clockOf(from)}
				s.To, _ = rehab.ParseClock(end)
				if s.From == s.To {
					return refuse("Quiet hours from %s to %s are no time at all: quiet off, or two different times. Nothing was saved.", s.From, s.To)
				}
				return once("quiet", to, s.String())
			}, nil
		},
		text: func() string { return rehab.Prefixed("quiet ", *to) },
	}
}

func clockOf(t time.Time) rehab.Clock { return rehab.Clock(t.Hour()*60 + t.Minute()) }

var (
	notOn    = phrases("not", "not on", "not", "never on", "except", "days off", "day off")
	everyDay = phrases("every", "every day", "all days", "no days off")
)

// everyDayWord is what the field holds when there is no day off.
const everyDayWord = "every day"

// NotOn is a field that takes the days on which nothing is sent: "not sun sat", "every day".
func NotOn(to *string) Field {
	return Field{
		Name: "not", Usage: "not sun | every day", About: "days on which nothing is sent: sun sat, or every day", Optional: true, many: true, lead: "not ",
		words: func(*Lang) []phrase { return append(notOn, everyDay...) },
		match: func(r *reader) (int, func() error, error) {
			for _, skipped := range []int{0, boolInt(r.peek(0) == "not")} { // by options the lead stands before it
				if _, n := longest(r.skip(skipped), everyDay); n > 0 {
					return skipped + n, func() error { return once("days", to, everyDayWord) }, nil
				}
			}
			_, n := longest(r, notOn)
			if n == 0 {
				return 0, nil, nil
			}
			var days []string
			for {
				w := strings.TrimSuffix(r.peek(n), "s")
				day, ok := weekday(w, r.lang.Now)
				if !ok {
					day, ok = weekday(r.peek(n), r.lang.Now)
				}
				if !ok {
					break
				}
				days, n = append(days, weekdays[day.Weekday()][0]), n+1
			}
			return n, func() error {
				if len(days) == 0 {
					return refuse("Not on which days? For example: not sun, or every day. Nothing was saved.")
				}
				return once("days", to, strings.Join(days, " "))
			}, nil
		},
		text: func() string {
			if *to == "" || *to == everyDayWord {
				return *to
			}
			return "not " + *to
		},
	}
}
