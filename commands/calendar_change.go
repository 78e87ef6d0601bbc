package commands

import (
	"context"
	"fmt"
	"slices"
	"time"

	"footing/rehab"
)

type moveArgs struct {
	Session string
	When    coming
	To      coming
}

// MoveCmd gives a session another time. What is not said of the new one stays: its day, or its time.
var MoveCmd = New(Def[moveArgs]{
	Name:    "move",
	Exact:   true,
	Summary: "Give a session another time.",
	Needs:   rehab.ManageCalendar,
	Privacy: Anyone,
	Squad:   true,
	Fields: func(a *moveArgs) []Field {
		return []Field{Opt(Choice("session", &a.Session, sessionWords)), Opt(Which(&a.When)), NewTime(&a.To)}
	},
	Examples: []string{moveExample, "move training tue to wed", "move match to 14:00"},
	Run: func(ctx context.Context, env *Env, a moveArgs) (Reply, error) {
		cal, s, err := env.which(ctx, a.Session, a.When, func(s string) string { return "move " + s + " to " + a.To.text() })
		if err != nil {
			return Reply{}, err
		}
		to := a.To.from(s.Start, env.Told)
		if !to.After(env.Told) {
			return Reply{}, refuse("%s is over. Nothing was saved; say a day and a time to come.", to.Format("Mon 2 Jan 2006 15:04"))
		}
		if to.After(env.Told.AddDate(0, 0, farthest)) {
			return Reply{}, refuse("%s is more than a year away. Nothing was saved; check the year.", to.Format("Mon 2 Jan 2006"))
		}
		if there, taken := cal.Find(s.What, to); taken {
			return Reply{}, refuse("That stands already: %s.", env.saySession(there))
		}
		return env.add(ctx, rehab.Moved{Session: s.What, From: s.Start, To: to}, func(after rehab.Calendar, moved rehab.Session, ok bool) []string {
			if !ok {
				return []string{"That session was cancelled or moved since: type sessions for what stands."}
			}
			head := fmt.Sprintf("Moved from %s: %s", env.sayStart(s.Start), env.saySession(moved))
			return append(env.sayNew(after, moved, head, jumped(to, a.To.Clock)), env.onlyThatOne(after, s)...)
		})
	},
})

var sessionWords = NewWords(Word{rehab.Training, []string{"practice", "session"}}, Word{rehab.Match, []string{"game", "fixture"}})

// Which is a field that takes which session is meant, by its day, its time or both.
func Which(to *coming) Field {
	s := pieces{to: to}
	return Field{
		Name: "when", Usage: "tue | tue 18:30 | sat 28/2", many: true,
		words: func(*Lang) []phrase { return comingWords },
		match: func(r *reader) (int, func() error, error) {
			n, set := s.read(r)
			return n, set, nil
		},
		text: func() string { return to.text() },
	}
}

// NewTime is a field that takes the time a session is moved to: "to wed", "to 19:00", "to wed 19:00".
func NewTime(to *coming) Field {
	s := pieces{to: to}
	return Field{
		Name: "to", Usage: "to wed 19:00 | to wed | to 19:00",
		words: func(*Lang) []phrase { return append(phrases("to", "to"), comingWords...) },
		match: func(r *reader) (int, func() error, error) {
			if r.peek(0) != "to" {
				return 0, nil, nil
			}
			var sets []func() error
			n := 1
			for {
				size, set := s.read(r.skip(n))
				if size == 0 {
					break
				}
				n, sets = n+size, append(sets, set)
			}
			return n, func() error {
				for _, set := range sets {
					if err := set(); err != nil {
						return err
					}
				}
				return nil
			}, nil
		},
		text: func() string { return rehab.Prefixed("to ", to.text()) },
		check: func() error {
			if *to == (coming{}) {
				return refuse("Move it to when? For example: %s", moveExample)
			}
			return nil
		},
	}
}

// moveExample is a line that moves a session.
const moveExample = "move tue 18:30 to wed 19:00"

// from is where a session that starts at a time goes. A weekday is the one nearest to its old day, or
// the one after when that is over: whoever moves Saturday's match to Sunday means that weekend.
func (c coming) from(old, now time.Time) time.Time {
	old = old.In(now.Location())
	if c.Clock == "" {
		c.Clock = old.Format("15:04")
	}
	if c.Day == "" {
		c.Day = old.Format(time.DateOnly)
	}
	return c.at(now, dateOf(old).AddDate(0, 0, 3))
}

// mostOffered is how many sessions are offered as buttons.
const mostOffered = 4

// which finds the one session meant, of those that are not over. None or several are asked about; line
// is what to type of one of them.
func (e *Env) which(ctx context.Context, what string, when coming, line func(session string) string) (rehab.Calendar, rehab.Session, error) {
	cal, err := e.Calendar(ctx)
	if err != nil {
		return cal, rehab.Session{}, err
	}
	left := slices.DeleteFunc(slices.Clone(cal.Sessions), func(s rehab.Session) bool { return !s.End().After(e.Told) })
	var found, offered []rehab.Session
	for _, s := range left {
		if (what == "" || s.What == what) && when.fits(s, e.Told) {
			found = append(found, s)
		}
	}
	if _, named := weekday(when.Day, e.Told); named && len(found) > 0 { // the nearest such day
		found = slices.DeleteFunc(found, func(s rehab.Session) bool {
			return rehab.DaysBetween(found[0].Start, s.Start, e.Told.Location()) > 0
		})
	}
	if len(found) == 1 {
		return cal, found[0], nil
	}
	no := refuse("Which session?")
	if offered = found; len(found) == 0 {
		no.Says, offered = fmt.Sprintf("There is no %s to come%s.", orSession(what), e.sayWhen(when)), left
		if len(left) > 0 {
			no.Says += " Is it one of these?"
		}
	}
	for _, s := range offered[:min(mostOffered, len(offered))] {
		typed := s.What + " " + s.Start.In(e.Now.Location()).Format("2006-01-02 15:04")
		no.Buttons = append(no.Buttons, Button{Label: upper(s.What) + " " + e.sayStart(s.Start), Line: line(typed)})
	}
	return cal, rehab.Session{}, no
}

func orSession(what string) string {
	if what == "" {
		return "session"
	}
	return what
}

// sayWhen says back when a session was thought to be: " on Tue at 18:30".
func (e *Env) sayWhen(c coming) string {
	if _, err := time.Parse(time.DateOnly, c.Day); err == nil {
		c.Day = dayOf(c.Day, e.Now)
	}
	return rehab.Prefixed(" on ", upper(c.Day)) + rehab.Prefixed(" at ", c.Clock)
}

// fits reports whether a session can be the one that is meant. A weekday reaches a week ahead.
func (c coming) fits(s rehab.Session, now time.Time) bool {
	start := s.Start.In(now.Location())
	_, named := weekday(c.Day, now)
	switch {
	case c.Clock != "" && start.Format("15:04") != c.Clock:
		return false
	case named:
		return weekdays[start.Weekday()][0] == c.Day && rehab.DaysBetween(now, start, now.Location()) <= 7
	}
	return c.Day == "" || start.Format(time.DateOnly) == c.Day
}
