package rehab

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// What the bot says unasked.
const (
	MorningReport   = "report"    // to coaches, who can do what
	ClinicList      = "clinic"    // to medical staff, whom to see
	WeekSummary     = "summary"   // to medical staff, on Mondays
	MorningQuestion = "morning"   // to an athlete whose ankle is under treatment
	DrillCard       = "drills"    // to an athlete, today's plan
	Nudge           = "nudge"     // to an athlete who has not answered it
	ConsentQuestion = "consent"   // to an athlete who has not said yes or no
	Everything      = "reminders" // all of what an athlete gets
)

// Unasked lists what the bot says unasked.
var Unasked = []string{MorningReport, ClinicList, WeekSummary, MorningQuestion, DrillCard, Nudge, ConsentQuestion}

// Preferred records how a team, on the squad's row, or an athlete wants to be reminded.
type Preferred struct {
	What string `json:"what"` // one of the above, "quiet" or "days off"
	Says string `json:"says"` // "on", "off", "18:00", "21:00-07:00", or days: "sun" "sat sun"
}

// What else can be preferred.
const (
	QuietHours = "quiet"
	DaysOff    = "days off"
)

// Clock is a wall time of a day, in minutes since midnight.
type Clock int

// ParseClock reads "18:30".
func ParseClock(text string) (Clock, error) {
	t, err := time.Parse("15:04", text)
	if err != nil {
		return 0, fmt.Errorf("%q is no time of a day: use 24 hours, like 18:30", text)
	}
	return Clock(t.Hour()*60 + t.Minute()), nil
}

func (c Clock) String() string { return fmt.Sprintf("%02d:%02d", c/60, c%60) }

// On is the instant of the wall time on a date.
func (c Clock) On(date time.Time, zone *time.Location) time.Time {
	return LocalTime(date, int(c)/60, int(c)%60, zone)
}

// Span is a part of the day from one wall time up to another; it may pass midnight. From = To is no time.
type Span struct{ From, To Clock }

// ParseSpan reads "21:00-07:00".
func ParseSpan(text string) (Span, error) {
	from, to, _ := strings.Cut(text, "-")
	var s Span
	var err error
	if s.From, err = ParseClock(strings.TrimSpace(from)); err != nil {
		return s, err
	}
	s.To, err = ParseClock(strings.TrimSpace(to))
	return s, err
}

func (s Span) String() string { return s.From.String() + "-" + s.To.String() }

// Holds reports whether a wall time is in the span.
func (s Span) Holds(c Clock) bool {
	if s.From <= s.To {
		return s.From <= c && c < s.To
	}
	return c >= s.From || c < s.To
}

// Habits are when someone is reminded.
type Habits struct {
	Times   map[string]Clock // by what; drills on a day without training
	Off     []string         // what is not sent
	Quiet   []Span           // nothing is sent to an athlete in any of them
	DaysOff []time.Weekday   // nothing is sent to an athlete
}

// AfterHours is when nobody under age is written to, whatever else was chosen (common practice in youth sport).
var AfterHours = Span{20 * 60, 8 * 60}

// usualHabits are a team's until it says otherwise: the clinic list a quarter of an hour before the report, the
// morning question an hour before it, so that what is answered is in both. All common practice.
func usualHabits(report Clock) Habits {
	before := func(c Clock) Clock { return max(0, report-c) }
	return Habits{
		Times: map[string]Clock{MorningReport: report, ClinicList: before(15), MorningQuestion: before(60), DrillCard: 17 * 60},
		Quiet: []Span{{21 * 60, 7 * 60}},
	}
}

// TeamHabits are a team's, from its settings and the squad's live entries. The error names a report time that
// cannot be read.
func TeamHabits(t Team, squad []Entry) (Habits, error) {
	report, err := ParseClock(t.ReportAt)
	if err != nil {
		return Habits{}, fmt.Errorf("reading the report time: %w", err)
	}
	return usualHabits(report).After(squad), nil
}

// After is the habits with what live entries prefer, in the order first told. What cannot be read says nothing.
func (h Habits) After(entries []Entry) Habits {
	said := slices.DeleteFunc(slices.Clone(entries), func(e Entry) bool { return e.Body.Kind() != KindPreferred })
	slices.SortFunc(said, func(x, y Entry) int { return int(x.Original() - y.Original()) })
	for _, e := range said {
		h = h.With(e.Body.(Preferred))
	}
	return h
}

// With is the habits with one preference.
func (h Habits) With(p Preferred) Habits {
	switch {
	case p.What == QuietHours && p.Says == off:
		h.Quiet = nil
	case p.What == QuietHours:
		if s, err := ParseSpan(p.Says); err == nil {
			h.Quiet = []Span{s}
		}
	case p.What == DaysOff:
		h.DaysOff = nil
		for _, word := range strings.Fields(p.Says) {
			if d, ok := Weekday(word); ok {
				h.DaysOff = append(h.DaysOff, d)
			}
		}
	case p.Says == off:
		h.Off = append(slices.Clone(h.Off), p.What)
	default:
		h.Off = slices.DeleteFunc(slices.Clone(h.Off), func(what string) bool { return what == p.What })
		if c, err := ParseClock(p.Says); err == nil {
			times := map[string]Clock{}
			for what, at := range h.Times {
				times[what] = at
			}
			times[p.What] = c
			h.Times = times
		}
	}
	return h
}

const off = "off"

// Weekday reads "sun".
func Weekday(word string) (time.Weekday, bool) {
	for d := time.Sunday; d <= time.Saturday; d++ {
		if strings.EqualFold(d.String()[:3], word) {
			return d, true
		}
	}
	return 0, false
}

// For is the habits with the hours in which nobody under age is written to, for somebody who is.
func (h Habits) For(minor bool) Habits {
	if minor {
		h.Quiet = append(slices.Clone(h.Quiet), AfterHours)
	}
	return h
}

// staffs lists what staff get: it does not end when an athlete's reminders do.
var staffs = []string{MorningReport, ClinicList, WeekSummary}

// Sends reports whether something is sent at all.
func (h Habits) Sends(what string) bool {
	return !slices.Contains(h.Off, what) && (slices.Contains(staffs, what) || !slices.Contains(h.Off, Everything))
}

// Ends is when the quiet hours that hold a local time end; the time itself where none do.
func (h Habits) Ends(local time.Time) time.Time {
	const day = 24 * 60
	from := Clock(local.Hour()*60 + local.Minute())
	for d := range Clock(day) {
		if at := from + d; !h.Silent(at % day) {
			if d == 0 {
				return local
			}
			return (at % day).On(local.AddDate(0, 0, int(at/day)), local.Location())
		}
	}
	return local
}

// Silent reports whether nothing may be sent to an athlete at a wall time.
func (h Habits) Silent(c Clock) bool {
	return slices.ContainsFunc(h.Quiet, func(s Span) bool { return s.Holds(c) })
}

// margin is how long before quiet hours something goes out that would have fallen into them.
const margin = 30

// Allowed is the time nearest to a wall time of the same day at which something may be sent to an athlete:
// itself, the end of quiet hours, or half an hour before they begin. ok is false where quiet hours leave none.
func (h Habits) Allowed(c Clock) (Clock, bool) {
	if !h.Silent(c) {
		return c, true
	}
	const day = 24 * 60
	for d := Clock(1); d < day; d++ {
		if later := c + d; later < day && !h.Silent(later) {
			return later, true
		}
		if before := c - d; before >= 0 && !h.Silent(before) {
			edge := before
			for before > 0 && edge-before < margin-1 && !h.Silent(before-1) {
				before--
			}
			return before, true
		}
	}
	return 0, false
}

// silentFrom is how many minutes after an allowed wall time quiet hours begin; a day where they never do.
func (h Habits) silentFrom(c Clock) Clock {
	const day = 24 * 60
	for d := Clock(1); d < day; d++ {
		if h.Silent((c + d) % day) {
			return d
		}
	}
	return day
}
