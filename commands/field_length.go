package commands

import (
	"regexp"
	"slices"
	"strconv"
	"time"
)

// The shortest and the longest session, in minutes; what is outside is a slip (common practice).
const (
	shortest  = 10
	longestOf = 300
)

var (
	hoursLong = regexp.MustCompile(`^(-?\d+(?:\.\d+)?)(h|hr|hrs|hour|hours)$`)
	bareCount = regexp.MustCompile(`^-?\d{1,3}(?:\.\d+)?$`)
	hourWords = []string{"h", "hr", "hrs", "hour", "hours"}
	endMarks  = []string{"to", "till", "until"}
)

// Length is a field that takes how long a session is, or when it ends: "90min", "1.5h", "18:30-20:00".
func Length(to *float64, start *coming) Field {
	given, end := false, ""
	return Field{
		Name: "minutes", Usage: "90min | 1.5h | 18:30-20:00", Optional: true, many: true,
		words: func(*Lang) []phrase { return nil },
		match: func(r *reader) (int, func() error, error) {
			if clock, n := r.endClock(); n > 0 {
				return n, func() error { return once("the end", &end, clock) }, nil
			}
			v, n := r.minutes()
			return n, func() error {
				if given && *to != v {
					return refuse("Two lengths are given: %s and %s minutes. Say one.", exact(*to), exact(v))
				}
				*to, given = v, true
				return nil
			}, nil
		},
		text: func() string {
			if *to == 0 {
				return ""
			}
			return exact(*to) + " min"
		},
		check: func() error {
			if end != "" && start.Clock != "" {
				v := minutesFrom(start.Clock, end)
				if given && *to != v {
					return refuse("From %s to %s are %s minutes, not %s. Nothing was saved; say one.", start.Clock, end, exact(v), exact(*to))
				}
				*to, given = v, true
			}
			if given && (*to < shortest || *to > longestOf || *to != float64(int(*to))) {
				return refuse("A session takes %d to %d whole minutes, not %s. Nothing was saved.", shortest, longestOf, exact(*to))
			}
			return nil
		},
	}
}

// minutesFrom is how long it is from one wall time to the next time the wall shows another.
func minutesFrom(start, end string) float64 {
	a, _ := time.Parse("15:04", start)
	b, _ := time.Parse("15:04", end)
	if !b.After(a) {
		b = b.AddDate(0, 0, 1)
	}
	return b.Sub(a).Minutes()
}

// minutes reads "90min", "for 90 minutes", "1h", "1.5 hours", "1h30", or a number alone.
func (r *reader) minutes() (v float64, n int) {
	mark := boolInt(r.peek(0) == "for")
	q := r.skip(mark)
	amount, after, hours := q.peek(0), 1, false
	if m := hoursLong.FindStringSubmatch(amount); m != nil {
		amount, hours = m[1], true
	} else if slices.Contains(hourWords, q.peek(1)) {
		after, hours = 2, true
	} else if units[q.peek(1)] == "min" {
		after = 2
	}
	if !bareCount.MatchString(amount) {
		return 0, 0
	}
	v, err := strconv.ParseFloat(amount, 64)
	if err != nil {
		return 0, 0
	}
	if !hours {
		return v, mark + after
	}
	v *= 60
	if rest := q.peek(after); len(rest) == 2 && bareCount.MatchString(rest) {
		more, _ := strconv.ParseFloat(rest, 64)
		v, after = v+more, after+1+boolInt(units[q.peek(after+1)] == "min")
	}
	return v, mark + after
}

// endClock reads when a session ends: "to 20:00", "-20:00", "-8pm".
func (r *reader) endClock() (string, int) {
	w, n := r.peek(0), 1
	if slices.Contains(endMarks, w) {
		clock, size := clockAt(r.skip(1), false, true)
		return clock.Format("15:04"), (1 + size) * boolInt(size > 0)
	}
	if len(w) < 2 || w[0] != '-' {
		return "", 0
	}
	w = w[1:]
	if len(w) <= 2 && r.at+1 < len(r.toks) && r.toks[r.at+1].from == r.toks[r.at].from+len(w)+2 {
		w, n = w+":"+r.peek(1), 2 // the colon of "-20:00" has parted it
	}
	alone := &reader{lang: r.lang, toks: append([]token{{text: w}}, r.toks[min(r.at+n, len(r.toks)):]...)}
	clock, size := clockAt(alone, false, true)
	return clock.Format("15:04"), (n + size - 1) * boolInt(size > 0)
}
