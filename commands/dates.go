package commands

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

var weekdays = [][]string{
	{"sun", "sunday"}, {"mon", "monday"}, {"tue", "tues", "tuesday"}, {"wed", "weds", "wednesday"},
	{"thu", "thur", "thurs", "thursday"}, {"fri", "friday"}, {"sat", "saturday"},
}

var months = [][]string{
	{"jan", "january"}, {"feb", "february"}, {"mar", "march"}, {"apr", "april"}, {"may"}, {"jun", "june"},
	{"jul", "july"}, {"aug", "august"}, {"sep", "sept", "september"}, {"oct", "october"}, {"nov", "november"}, {"dec", "december"},
}

// partsOfDay are the hours that stand for a part of a day; the reply says the hour back.
var partsOfDay = map[string]int{"morning": 8, "am": 8, "afternoon": 14, "arvo": 14, "pm": 14, "evening": 20, "night": 20}

// instant is what some words say of when: a day, a time of day, or both.
type instant struct {
	day, clock *time.Time
}

// whenAt reads the words that tell when something happened, and how many they are. Among the values of
// tests only what can be no value counts: "17.40" and "28/2" then need "at" and "on" before them.
func whenAt(r *reader, amongValues bool) (instant, int, error) {
	if at, n := ago(r); n > 0 {
		return at, n, nil
	}
	if day, n := dayAt(r); n > 0 {
		return withClock(r, day, n)
	}
	mark := 0
	if w := r.peek(0); w == "at" || w == "on" {
		mark, amongValues = 1, false
	}
	day, n, err := dateAt(r.skip(mark), amongValues)
	if err != nil {
		return instant{}, 0, err
	}
	if n > 0 {
		return withClock(r, day, mark+n)
	}
	if clock, n := clockAt(r.skip(mark), amongValues, r.peek(0) == "at"); n > 0 {
		return instant{clock: &clock}, mark + n, nil
	}
	return instant{}, 0, nil
}

// ago reads "20 min ago", "an hour ago", "2 days ago".
func ago(r *reader) (instant, int) {
	amount, unit, n := r.peek(0), r.peek(1), 2
	switch {
	case amount == "half" && unit == "an":
		amount, unit, n = "0.5", r.peek(2), 3
	case amount == "a" || amount == "an":
		amount = "1"
	}
	if m := numberWithUnit.FindStringSubmatch(amount); m != nil {
		amount, unit, n = m[1], m[2], 1
	}
	count, err := strconv.ParseFloat(amount, 64)
	if err != nil || count < 0 || count > 1000 || r.peek(n) != "ago" {
		return instant{}, 0
	}
	now := r.lang.Now
	switch strings.TrimSuffix(unit, "s") {
	case "min", "minute", "m":
		return exactly(now.Add(-time.Duration(count * float64(time.Minute)))), n + 1
	case "h", "hr", "hour":
		return exactly(now.Add(-time.Duration(count * float64(time.Hour)))), n + 1
	case "day", "d":
		return onDay(midnight(now).AddDate(0, 0, -int(count))), n + 1
	case "week", "wk":
		return onDay(midnight(now).AddDate(0, 0, -7*int(count))), n + 1
	}
	return instant{}, 0
}

var numberWithUnit = regexp.MustCompile(`^(\d+)(h|hrs?|d)$`)

func exactly(t time.Time) instant {
	t = t.Truncate(time.Minute)
	day := midnight(t)
	return instant{&day, &t}
}

func onDay(day time.Time) instant { return instant{day: &day} }

func midnight(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, t.Location())
}

// dayAt reads the words that name a day without its date.
func dayAt(r *reader) (time.Time, int) {
	w, now := r.peek(0), r.lang.Now
	_, part := partsOfDay[r.peek(1)]
	switch {
	case w == "this" && part:
		return midnight(now), 1
	case w == "last" && r.peek(1) == "night":
		return midnight(now).AddDate(0, 0, -1), 1
	case w == "last":
		if day, ok := weekday(r.peek(1), midnight(now).AddDate(0, 0, -1)); ok {
			return day, 2
		}
	}
	if day, ok := dayWord(w, now, false); ok {
		return day, 1
	}
	return time.Time{}, 0
}

// dayWord reads a word that names a day, as its midnight. A weekday is the last one, or the next one
// where days to come are meant; both count today.
func dayWord(w string, now time.Time, ahead bool) (time.Time, bool) {
	today := midnight(now)
	switch w {
	case "today":
		return today, true
	case "yesterday", "yday", "yest":
		return today.AddDate(0, 0, -1), true
	case "tomorrow", "tmrw":
		return today.AddDate(0, 0, 1), ahead
	}
	upTo := today
	if ahead {
		upTo = today.AddDate(0, 0, 6)
	}
	if day, ok := weekday(w, upTo); ok {
		return day, true
	}
	d, err := time.ParseInLocation(time.DateOnly, w, now.Location())
	return d, err == nil && d.Year() >= 1900
}

// weekday is the last day of that name up to and with a day.
func weekday(w string, upTo time.Time) (time.Time, bool) {
	for i, names := range weekdays {
		if slices.Contains(names, w) {
			return upTo.AddDate(0, 0, -(int(upTo.Weekday())-i+7)%7), true
		}
	}
	return time.Time{}, false
}

// withClock adds the time that may follow a day: a part of the day, or four digits.
func withClock(r *reader, day time.Time, n int) (instant, int, error) {
	at := onDay(day)
	if hour, ok := partsOfDay[r.peek(n)]; ok {
		clock := time.Date(day.Year(), day.Month(), day.Day(), hour, 0, 0, 0, day.Location())
		if now := r.lang.Now; day.Equal(midnight(now)) && clock.After(now) {
			clock = now.Truncate(time.Minute) // "this morning", said before eight
		}
		at.clock, n = &clock, n+1
	} else if clock, ok := fourDigits(r.peek(n)); ok {
		at.clock, n = &clock, n+1
	}
	return at, n, nil
}

var (
	dayMonthYear = regexp.MustCompile(`^(\d{1,2})[/.-](\d{1,2})[/.-](\d{4}|\d{2})$`)
	dayAndMonth  = regexp.MustCompile(`^(\d{1,2})/(\d{1,2})$`)
	dayOfMonth   = regexp.MustCompile(`^(\d{1,2})(?:st|nd|rd|th)?$`)
)

// dateAt reads a date in figures, the day first, or with the name of its month. Where the athlete is
// expected "4 may" is their shirt and name, and among the values of tests 9/12 is a pair.
func dateAt(r *reader, amongValues bool) (time.Time, int, error) {
	w, now := r.peek(0), r.lang.Now
	if day, n := namedMonth(r); n > 0 && r.at > r.start {
		return day, n, nil
	}
	if m := dayMonthYear.FindStringSubmatch(w); m != nil && !amongValues {
		day, ok := date(m[1], m[2], m[3], now)
		if ok && len(m[3]) == 2 && day.Before(now.AddDate(-1, 0, 0)) {
			return time.Time{}, 0, nil // "10/12/14": more likely three values
		}
		return day, boolInt(ok), nil
	}
	m := dayAndMonth.FindStringSubmatch(w)
	if m == nil || amongValues {
		return time.Time{}, 0, nil
	}
	day, ok := date(m[1], m[2], "", now)
	if ok && strings.HasSuffix(w, "/10") && day.Day() <= 10 {
		return time.Time{}, 0, refuse("%s: out of ten, or a date? For the date type: %s. Nothing was saved.", w, day.Format("2 Jan"))
	}
	return day, boolInt(ok), nil
}

// namedMonth reads "1 March", "1st of march 2026", "Mar 1".
func namedMonth(r *reader) (time.Time, int) {
	if month := monthWord(r.peek(0)); month != "" {
		if m := dayOfMonth.FindStringSubmatch(r.peek(1)); m != nil {
			day, ok := date(m[1], month, "", r.lang.Now)
			return day, 2 * boolInt(ok)
		}
	}
	m := dayOfMonth.FindStringSubmatch(r.peek(0))
	n := 1
	if r.peek(1) == "of" {
		n = 2
	}
	month := monthWord(r.peek(n))
	if m == nil || month == "" {
		return time.Time{}, 0
	}
	year := ""
	for _, y := range []int{r.lang.Now.Year(), r.lang.Now.Year() - 1} {
		if r.peek(n+1) == strconv.Itoa(y) {
			year = strconv.Itoa(y)
		}
	}
	day, ok := date(m[1], month, year, r.lang.Now)
	return day, (n + 1 + len(year)/4) * boolInt(ok)
}

// monthWord is the number of a month's name, or "".
func monthWord(w string) string {
	for i, names := range months {
		if slices.Contains(names, w) {
			return strconv.Itoa(i + 1)
		}
	}
	return ""
}

// date makes a date of figures. Without a year it is the last such day, unless that lies so far back
// that the coming one is likelier meant, which is then refused as still to come.
func date(day, month, year string, now time.Time) (time.Time, bool) {
	d, _ := strconv.Atoi(day)
	m, _ := strconv.Atoi(month)
	y, _ := strconv.Atoi(year)
	switch len(year) {
	case 0:
		y = now.Year()
		last := time.Date(y-1, time.Month(m), d, 0, 0, 0, 0, now.Location())
		if time.Date(y, time.Month(m), d, 0, 0, 0, 0, now.Location()).After(now) && now.Sub(last) < halfYear {
			y--
		}
	case 2:
		y += 2000
	}
	out := time.Date(y, time.Month(m), d, 0, 0, 0, 0, now.Location())
	return out, out.Day() == d && int(out.Month()) == m && out.Year() >= 1900
}

const halfYear = 183 * 24 * time.Hour

var (
	clockShape = regexp.MustCompile(`^(\d{1,2})(?:[:.](\d{2}))?(am|pm)?$`)
	hoursShape = regexp.MustCompile(`^(\d{4})(?:h|hrs?)$`)
	digits4    = regexp.MustCompile(`^\d{4}$`)
)

// clockAt reads a time of day: 18:40, 17.40, 5pm, 5.30 pm, 1740hrs, and after "at" also 1740.
func clockAt(r *reader, amongValues, afterAt bool) (time.Time, int) {
	w := r.peek(0)
	if m := hoursShape.FindStringSubmatch(w); m != nil {
		w, afterAt = m[1], true
	}
	if clock, ok := fourDigits(w); ok && afterAt {
		return clock, 1
	}
	m := clockShape.FindStringSubmatch(w)
	if m == nil {
		return time.Time{}, 0
	}
	half, n := m[3], 1
	if next := r.peek(1); half == "" && (next == "am" || next == "pm") {
		half, n = next, 2
	}
	hour, _ := strconv.Atoi(m[1])
	minute, _ := strconv.Atoi(m[2])
	dotted := strings.Contains(w, ".")
	switch {
	case half == "" && (m[2] == "" || dotted && (amongValues || hour < 6)):
		return time.Time{}, 0 // "at 5" says no half of the day; "1.03" may be a date
	case half != "" && (hour < 1 || hour > 12):
		return time.Time{}, 0
	case half == "am":
		hour %= 12
	case half == "pm":
		hour = hour%12 + 12
	}
	return clockTime(hour, minute), n * boolInt(hour < 24 && minute < 60)
}

// fourDigits reads 1740.
func fourDigits(w string) (time.Time, bool) {
	if !digits4.MatchString(w) {
		return time.Time{}, false
	}
	hour, _ := strconv.Atoi(w[:2])
	minute, _ := strconv.Atoi(w[2:])
	return clockTime(hour, minute), hour < 24 && minute < 60
}

func clockTime(hour, minute int) time.Time {
	return time.Date(0, 1, 1, hour, minute, 0, 0, time.UTC)
}
