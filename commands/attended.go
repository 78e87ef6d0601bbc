package commands

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"footing/rehab"
)

type attendedArgs struct {
	Session string
	At      time.Time
	Who     []rehab.Athlete
	How     string
}

var attendances = NewWords(Word{"out", []string{"absent", "missed", "not there"}}, Word{"in", []string{"there", "present", "took part"}}, Word{"only", []string{"just"}}, Word{"nobody", []string{"no one", "none", "not held", "called off"}})

// AttendedCmd says who took part in a session, and corrects it. By itself the bot takes everybody who was
// not unavailable. A session that was not held had nobody in it.
var AttendedCmd = New(Def[attendedArgs]{
	Name:    "attended",
	Also:    []string{"attendance"},
	Exact:   true,
	Summary: "Who took part in a session: read it, or say who was out, in, or the only ones, or nobody.",
	Needs:   rehab.LogAttendance,
	Privacy: Staff,
	Squad:   true,
	Fields: func(a *attendedArgs) []Field {
		return []Field{Opt(Choice("session", &a.Session, sessionWords)), When(&a.At), Opt(Choice("how", &a.How, attendances)), Several(&a.Who)}
	},
	Examples: []string{"attended", "attended training 7 12 out", "attended training only 7 9", "attended match 12 in", "attended training nobody"},
	Run: func(ctx context.Context, env *Env, a attendedArgs) (Reply, error) {
		switch {
		case len(a.Who) == 0 && a.How == "":
			return env.readAttended(ctx, a.Session, a.At)
		case a.How == "nobody" && len(a.Who) > 0:
			return Reply{}, refuse("Nobody, or %s? Nothing was saved; say one.", strings.Join(shirts(a.Who), ", "))
		case a.How == "nobody":
			return env.correctAttended(ctx, a.Session, a.At, rehab.Attended{Only: true})
		case len(a.Who) == 0:
			return Reply{}, refuse("Who? For example: attended training 7 12 %s", a.How)
		case a.How == "":
			return Reply{}, refuse("Were they out, in, or the only ones? For example: attended training 7 12 out")
		}
		minutes := rehab.WholeSession
		if a.How == "out" {
			minutes = 0
		}
		b := rehab.Attended{Only: a.How == "only"}
		for _, w := range a.Who {
			b.Took = append(b.Took, rehab.Took{Athlete: w.ID, Minutes: minutes})
		}
		return env.correctAttended(ctx, a.Session, a.At, b)
	},
})

type minutesArgs struct {
	Session string
	At      time.Time
	Each    []part
}

// part is how long one athlete took part.
type part struct {
	Athlete rehab.Athlete
	Minutes int
}

// MinutesCmd says how many minutes athletes took part in a session.
var MinutesCmd = New(Def[minutesArgs]{
	Name:    "minutes",
	Exact:   true,
	Summary: "How many minutes athletes took part in a session: shirt, then minutes.",
	Needs:   rehab.LogAttendance,
	Privacy: Staff,
	Squad:   true,
	Fields: func(a *minutesArgs) []Field {
		return []Field{Opt(Choice("session", &a.Session, sessionWords)), When(&a.At), Parts(&a.Each)}
	},
	Examples: []string{"minutes match 7 35", "minutes match 7 35 12 90"},
	Run: func(ctx context.Context, env *Env, a minutesArgs) (Reply, error) {
		var b rehab.Attended
		for _, p := range a.Each {
			b.Took = append(b.Took, rehab.Took{Athlete: p.Athlete.ID, Minutes: p.Minutes})
		}
		return env.correctAttended(ctx, a.Session, a.At, b)
	},
})

// Several is a field that takes athletes, by shirts or names.
func Several(to *[]rehab.Athlete) Field {
	return Field{
		Name: "who", Usage: "shirts or names", Optional: true, many: true, offers: squadOffers,
		words: func(*Lang) []phrase { return nil },
		match: func(r *reader) (int, func() error, error) {
			a, n, err := anywhere(r)
			return n, func() error {
				if !slices.ContainsFunc(*to, func(b rehab.Athlete) bool { return b.ID == a.ID }) {
					*to = append(*to, a)
				}
				return nil
			}, err
		},
		text: func() string { return strings.Join(shirts(*to), " ") },
	}
}

// anywhere reads a shirt or a whole name at any place of a line.
func anywhere(r *reader) (rehab.Athlete, int, error) {
	n, err := strconv.Atoi(strings.TrimPrefix(r.peek(0), "#"))
	if err != nil {
		return byName(r, false)
	}
	for _, a := range r.lang.Roster {
		if a.Shirt == n {
			return a, 1, nil
		}
	}
	return rehab.Athlete{}, 0, &Refusal{Says: fmt.Sprintf("Nobody on the roster wears %s. Nothing was saved.", r.peek(0)), NoShirt: true}
}

// Parts is a field that takes athletes, each with minutes.
func Parts(to *[]part) Field {
	return Field{
		Name: "who", Usage: "7 35 | 7 35 12 90", many: true,
		words: func(*Lang) []phrase { return nil },
		match: func(r *reader) (int, func() error, error) {
			a, n, err := anywhere(r)
			if n == 0 || err != nil {
				return 0, nil, err
			}
			minutes, err := strconv.Atoi(r.peek(n))
			if err != nil || minutes < 0 || minutes > longestOf {
				return 0, nil, refuse("%s: how many minutes, 0 to %d? For example: minutes match %d 35. Nothing was saved.", a.Label(), longestOf, a.Shirt)
			}
			n += 1 + boolInt(units[r.peek(n+1)] == "min")
			return n, func() error {
				for _, p := range *to {
					if p.Athlete.ID == a.ID && p.Minutes != minutes {
						return refuse("%s has two numbers of minutes: %d and %d. Nothing was saved; say one.", a.Label(), p.Minutes, minutes)
					}
				}
				*to = append(*to, part{a, minutes})
				return nil
			}, nil
		},
		text: func() string {
			var out []string
			for _, p := range *to {
				out = append(out, fmt.Sprintf("%d %d", p.Athlete.Shirt, p.Minutes))
			}
			return strings.Join(out, " ")
		},
	}
}

func shirts(list []rehab.Athlete) []string {
	var out []string
	for _, a := range list {
		out = append(out, strconv.Itoa(a.Shirt))
	}
	return out
}

// correctAttended records who took part in the session that is meant.
func (e *Env) correctAttended(ctx context.Context, what string, at time.Time, b rehab.Attended) (Reply, error) {
	s, err := e.started(ctx, what, at)
	if err != nil {
		return Reply{}, err
	}
	squad, err := e.Records.Squad(ctx)
	if err != nil {
		return Reply{}, err
	}
	b.Session, b.Start = s.What, s.Start
	entry := rehab.Entry{Athlete: squad.ID, At: e.Told, Body: b}
	said, err := e.sayAttended(ctx, s, entry)
	reply := lines(said...)
	reply.Entries = []rehab.Entry{entry}
	return reply, err
}

func (e *Env) readAttended(ctx context.Context, what string, at time.Time) (Reply, error) {
	s, err := e.started(ctx, what, at)
	if err != nil {
		return Reply{}, err
	}
	said, err := e.sayAttended(ctx, s)
	hint := "To correct it: attended training 7 12 out, minutes training 7 35."
	if s.What == rehab.Match {
		hint = "To say who played: attended match only 7 12, minutes match 7 35."
	}
	return lines(append(said, hint)...), err
}

// started finds the session that is meant: the last of its kind that has started, or of that day.
func (e *Env) started(ctx context.Context, what string, at time.Time) (rehab.Session, error) {
	cal, err := e.Calendar(ctx)
	if err != nil {
		return rehab.Session{}, err
	}
	zone := e.Told.Location()
	var found []rehab.Session
	for _, s := range cal.Sessions {
		if (what == "" || s.What == what) && !s.Start.After(e.Told) && (at.IsZero() || rehab.DaysBetween(s.Start, at, zone) == 0) {
			found = append(found, s)
		}
	}
	if i := slices.IndexFunc(found, func(s rehab.Session) bool { return s.Start.Equal(at) }); i >= 0 {
		return found[i], nil
	}
	switch {
	case len(found) == 0 && at.IsZero():
		return rehab.Session{}, refuse("No %s of the calendar has started yet. Put it in before it starts: training tue 18:30", orSession(what))
	case len(found) == 0:
		return rehab.Session{}, refuse("The calendar has no %s on %s that has started.", orSession(what), e.sayDay(at))
	case at.IsZero() || len(found) == 1:
		return found[len(found)-1], nil
	}
	no := refuse("Which one? Press it, or say its time.")
	for _, s := range found[:min(mostOffered, len(found))] {
		no.Buttons = append(no.Buttons, Button{Label: upper(s.What) + " " + e.sayStart(s.Start), Line: e.Call.TextWith("when", s.Start.In(zone).Format("2006-01-02 15:04"))})
	}
	return rehab.Session{}, no
}
