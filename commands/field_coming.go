package commands

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"footing/rehab"
)

// coming is a day and a time to come, as far as they were said.
type coming struct {
	Day   string // local day "2026-03-10", or a weekday "tue" until it is known which one is meant
	Clock string // local wall time "18:30"
	Names string // every weekday that was named, "tue thu", where a series may be meant
}

func (c coming) text() string {
	if _, err := time.Parse(time.DateOnly, c.Day); err != nil && c.Names != "" {
		return join(" ", c.Names, c.Clock)
	}
	return join(" ", c.Names, c.Day, c.Clock)
}

// comingWords are the words a slip may be mended into.
var comingWords = slices.Concat(whenPhrases, phrases("tomorrow", "tomorrow"))

// pieces collects what a line says of one coming day and time, word by word.
type pieces struct {
	to   *coming
	date time.Time // as a UTC date
	name string    // the weekday that was named, "tue"

	several bool // weekdays may be named, and with them the day they are counted from
}

// read reads a day or a time at the reader, and what to do with it.
func (s *pieces) read(r *reader) (int, func() error) {
	mark := boolInt(slices.Contains([]string{"on", "at", "this", "from"}, r.peek(0)))
	q := r.skip(mark)
	q.start = -1 // nobody is expected: "4 may" is a day
	today := dateOf(r.lang.Now)
	if day, ok := weekday(q.peek(1), today.AddDate(0, 0, 7)); ok && q.peek(0) == "next" {
		return mark + 2, func() error { return q.whichNext(day) }
	}
	if day, ok := weekday(q.peek(0), today); ok {
		return mark + 1, func() error { return s.weekday(weekdays[day.Weekday()][0]) }
	}
	if day, ok := dayWord(q.peek(0), today, true); ok {
		return mark + 1, func() error { return s.day(day) }
	}
	if q.peek(0) == "tonight" {
		return mark + 1, func() error { return s.day(today) }
	}
	if day, n := q.dateToCome(today); n > 0 {
		return mark + n, func() error { return s.day(day) }
	}
	if clock, n := clockAt(q, false, true); n > 0 && !(digits4.MatchString(q.peek(0)) && clock.Minute()%5 != 0) { // 2027 is a year
		return mark + n, func() error { return once("the time", &s.to.Clock, clock.Format("15:04")) }
	}
	return 0, nil
}

func (s *pieces) day(d time.Time) error {
	if !s.date.IsZero() && !s.date.Equal(d) {
		return refuse("Two days are given: %s and %s. Say one.", s.date.Format("Mon 2 Jan"), d.Format("Mon 2 Jan"))
	}
	s.date, s.to.Day = d, d.Format(time.DateOnly)
	return s.agree()
}

func (s *pieces) weekday(name string) error {
	if s.several {
		if !slices.Contains(strings.Fields(s.to.Names), name) {
			s.to.Names = join(" ", s.to.Names, name)
		}
		if s.to.Day == "" {
			s.to.Day = name
		}
		return nil
	}
	if s.name != "" && s.name != name {
		return refuse("Two days are given: %s and %s. Say one.", s.name, name)
	}
	if s.name = name; s.date.IsZero() {
		s.to.Day = name
	}
	return s.agree()
}

// agree refuses a date that is another weekday than the one named with it.
func (s *pieces) agree() error {
	if s.several {
		return nil // looked at once it is known whether a series is meant
	}
	if s.name != "" && !s.date.IsZero() && weekdays[s.date.Weekday()][0] != s.name {
		return refuse("%s is a %s, not a %s. Nothing was saved; say which.", s.date.Format("2 Jan 2006"), s.date.Weekday(), upper(s.name))
	}
	return nil
}

// whichNext asks what "next tue" is: people mean the coming one, or the one after.
func (r *reader) whichNext(day time.Time) error {
	q := &Question{Asks: "Next " + day.Format("Mon") + ": which day?"}
	last := r.toks[r.at+1]
	for _, d := range []time.Time{day, day.AddDate(0, 0, 7)} {
		q.Options = append(q.Options, Option{Label: d.Format("Mon 2 Jan"), from: r.toks[r.at].from, to: last.from + len(last.raw), text: d.Format(time.DateOnly)})
	}
	return q
}

// justOver is how many days a date without its year may be past and still be that one, which is then
// refused as over, and not next year's.
const justOver = 30

// dateToCome reads a date in figures, the day first, or with the name of its month. Without a year it is
// the next such day.
func (r *reader) dateToCome(today time.Time) (time.Time, int) {
	if m := dayMonthYear.FindStringSubmatch(r.peek(0)); m != nil {
		day, ok := date(m[1], m[2], m[3], today)
		return day, boolInt(ok)
	}
	dayOf, month, n := "", "", 0
	if m := dayAndMonth.FindStringSubmatch(r.peek(0)); m != nil {
		dayOf, month, n = m[1], m[2], 1
	} else if day, size := namedMonth(r); size > 0 {
		if yearShape.MatchString(r.peek(size - 1)) {
			return dateOf(day), size
		}
		dayOf, month, n = strconv.Itoa(day.Day()), strconv.Itoa(int(day.Month())), size
	}
	if next := strconv.Itoa(today.Year() + 1); n > 0 && r.peek(n) == next {
		day, ok := date(dayOf, month, next, today)
		return day, (n + 1) * boolInt(ok)
	}
	for year := today.Year() - 1; n > 0 && year <= today.Year()+1; year++ {
		if day, ok := date(dayOf, month, strconv.Itoa(year), today); ok && !day.Before(today.AddDate(0, 0, -justOver)) {
			return day, n
		}
	}
	return time.Time{}, 0
}

// dateOf is the local day of a moment as a UTC date: some days have no midnight.
func dateOf(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// Start is a field that takes the day and the time a session starts: "tue 18:30", "sat 28/2 3pm". A
// weekday is the next one, today included if still to come; what is over is refused. In a weekly series
// there may be several weekdays, and a date is the day they are counted from.
func Start(to *coming, weekly func() bool) Field {
	s := pieces{to: to, several: true}
	var now time.Time
	return Field{
		Name: "when", Usage: "tue 18:30 | tomorrow 6pm | sat 28/2 15:00 | tue thu 18:30", many: true,
		words: func(*Lang) []phrase { return comingWords },
		match: func(r *reader) (int, func() error, error) {
			now = r.lang.Now
			n, set := s.read(r)
			return n, set, nil
		},
		text: func() string { return to.text() },
		check: func() error {
			if !weekly() {
				if err := to.oneDay(s.date); err != nil {
					return err
				}
			}
			return to.settle(now, weekly())
		},
	}
}

// oneDay makes one day of the weekdays that were named, and refuses several or one that is not the date's.
func (c *coming) oneDay(date time.Time) error {
	names := strings.Fields(c.Names)
	c.Names = ""
	if len(names) > 1 {
		return refuse("Two days are given: %s. Say one; for both every week add: weekly until 30 Jun", strings.Join(names, " and "))
	}
	if len(names) == 0 {
		return nil
	}
	return (&pieces{to: c, date: date, name: names[0]}).agree()
}

// farthest is how many days ahead a session may be put into the calendar: what is farther is a slip.
const farthest = 400

// settle makes a weekday its date, and refuses what is over or not whole.
func (c *coming) settle(now time.Time, weekly bool) error {
	switch {
	case c.Clock == "" && c.Day == "":
		return refuse("When? Say a day and a time: tue 18:30")
	case c.Clock == "":
		return refuse("At what time? Say the day and the time: %s 18:30", c.Day)
	case c.Day == "":
		c.Day = now.Format(time.DateOnly)
	}
	if weekly {
		return nil // its days are looked at together
	}
	start := c.at(now, dateOf(now).AddDate(0, 0, 6))
	switch {
	case !start.After(now):
		return refuse("%s is over. Nothing was saved; say a day and a time to come.", start.Format("Mon 2 Jan 2006 15:04"))
	case start.After(now.AddDate(0, 0, farthest)):
		return refuse("%s is more than a year away. Nothing was saved; check the year.", start.Format("Mon 2 Jan 2006"))
	}
	if _, ok := weekday(c.Day, now); ok {
		c.Day = start.Format(time.DateOnly)
	}
	return nil
}

// at is the moment meant, in the zone of now. A weekday is the last of its name up to a day, or the
// one after when that is over.
func (c coming) at(now, upTo time.Time) time.Time {
	clock, _ := time.Parse("15:04", c.Clock)
	on := func(day time.Time) time.Time {
		return rehab.LocalTime(day, clock.Hour(), clock.Minute(), now.Location()).In(now.Location())
	}
	day, named := weekday(c.Day, upTo)
	if !named {
		day, _ = time.Parse(time.DateOnly, c.Day)
	}
	start := on(day)
	if named && !start.After(now) {
		start = on(day.AddDate(0, 0, 7))
	}
	return start
}
