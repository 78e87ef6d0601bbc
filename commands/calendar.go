package commands

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"footing/rehab"
)

type sessionArgs struct {
	When    coming
	Minutes float64
	Repeat  string
	Until   string
}

// weekly reports whether a series is meant: an end says it too.
func (a *sessionArgs) weekly() bool { return a.Repeat != "" || a.Until != "" }

// TrainingCmd and MatchCmd put a session into the team's calendar.
var (
	TrainingCmd = schedule(rehab.Training, "Put a training session into the calendar.", "training tue 18:30 90min", "training tomorrow 6pm", "training tue 18:30-20:00", weeklyExample)
	MatchCmd    = schedule(rehab.Match, "Put a match into the calendar.", "match sat 15:00", "match 28 march 15:00 80min")
)

func schedule(what, summary string, examples ...string) *Command {
	return New(Def[sessionArgs]{
		Name:    what,
		Exact:   what == rehab.Match, // march is a month
		Summary: summary,
		Needs:   rehab.ManageCalendar,
		Privacy: Anyone,
		Squad:   true,
		Fields: func(a *sessionArgs) []Field {
			return []Field{Start(&a.When, a.weekly), Length(&a.Minutes, &a.When), Opt(Choice("repeat", &a.Repeat, repeats)), Until(untilDay, &a.Until)}
		},
		Examples: examples,
		Run: func(ctx context.Context, env *Env, a sessionArgs) (Reply, error) {
			if a.weekly() {
				return env.series(ctx, what, a)
			}
			return env.schedule(ctx, what, a)
		},
	})
}

func (e *Env) schedule(ctx context.Context, what string, a sessionArgs) (Reply, error) {
	cal, err := e.Calendar(ctx)
	if err != nil {
		return Reply{}, err
	}
	start := a.When.at(e.Told, dateOf(e.Told))
	length := e.usual(what)
	was, stands := cal.Find(what, start)
	switch {
	case a.Minutes != 0:
		length = int(a.Minutes)
	case stands:
		length = was.Minutes
	}
	if stands && length == was.Minutes {
		return Reply{}, refuse("That stands already: %s.", e.saySession(was))
	}
	return e.add(ctx, rehab.Scheduled{Session: what, Start: start, Minutes: length}, func(after rehab.Calendar, s rehab.Session, ok bool) []string {
		switch {
		case !ok:
			return []string{"That session was cancelled or changed since: type sessions for what stands."}
		case stands:
			return []string{fmt.Sprintf("%s. It was %d minutes.", upper(e.saySession(s)), was.Minutes)}
		case !s.Start.Equal(start):
			return []string{fmt.Sprintf("%s, moved there since from %s.", upper(e.saySession(s)), e.sayStart(start))}
		}
		return e.sayNew(after, s, upper(e.saySession(s)), jumped(start, a.When.Clock))
	})
}

// usual is how long a session of a kind is when nobody says, in minutes.
func (e *Env) usual(what string) int {
	if what == rehab.Match {
		return e.Protocol.Limits.Match
	}
	return e.Protocol.Limits.Training
}

// add records one thing of the calendar and says how it then stands: the session that was scheduled or
// moved, when it is still there. An edited line may find that others moved or cancelled it since.
func (e *Env) add(ctx context.Context, b rehab.Body, say func(after rehab.Calendar, s rehab.Session, ok bool) []string) (Reply, error) {
	squad, err := e.Records.Squad(ctx)
	if err != nil {
		return Reply{}, err
	}
	all, err := e.Records.SquadEntries(ctx)
	if err != nil {
		return Reply{}, err
	}
	entry := rehab.Entry{Athlete: squad.ID, At: e.Told, Body: b}
	next := entry
	next.First, next.Seq = e.firstSeq(entry), 1
	for _, o := range all {
		next.Seq = max(next.Seq, o.Seq+1)
	}
	after := rehab.FoldCalendar(append(slices.Clone(all), next))
	i := slices.IndexFunc(after.Sessions, func(s rehab.Session) bool {
		switch b := b.(type) {
		case rehab.Scheduled:
			return s.Seq == next.Original()
		case rehab.Moved:
			return s.What == b.Session && s.Start.Equal(b.To)
		}
		return false
	})
	var s rehab.Session
	if i >= 0 {
		s = after.Sessions[i]
	}
	reply := lines(say(after, s, i >= 0)...)
	reply.Entries = []rehab.Entry{entry}
	return reply, nil
}

// jumped says that a time was typed which the clocks jump over on that day.
func jumped(at time.Time, typed string) string {
	if is := at.Format("15:04"); typed != "" && typed != is {
		return fmt.Sprintf("The clocks jump over %s that day: it is %s.", typed, is)
	}
	return ""
}

// sayNew says a session that has just got its time, and in a second line what to know about that time.
func (e *Env) sayNew(after rehab.Calendar, s rehab.Session, head, note string) []string {
	zone := e.Now.Location()
	switch day := after.Type(s.Start, zone); {
	case s.What == rehab.Match:
		head += ". Day before: " + e.sayDay(dateOf(s.Start.In(zone)).AddDate(0, 0, -1))
	case day == rehab.DayBefore:
		head += ", the day before a match"
	case day == rehab.MatchDay:
		head += ", on a match day"
	}
	out := []string{head + "."}
	for _, o := range after.Sessions {
		if o != s && o.Overlaps(s) {
			note = join(" ", note, "It overlaps the "+e.saySession(o)+".")
		}
	}
	if note != "" {
		out = append(out, note)
	}
	return out
}

// saySession is "training Tue 3 Mar 18:30–20:00".
func (e *Env) saySession(s rehab.Session) string {
	return s.What + " " + e.sayStart(s.Start) + "–" + s.End().In(e.Now.Location()).Format("15:04")
}

// sayStart says a session's day and time, the year only when it is not this one.
func (e *Env) sayStart(t time.Time) string {
	t = t.In(e.Now.Location())
	return e.sayDay(t) + t.Format(" 15:04")
}

// typedDay is a day as one would type it, the year only when it is not this one.
func (e *Env) typedDay(t time.Time) string {
	if t.Year() != e.Now.Year() {
		return t.Format("2 Jan 2006")
	}
	return t.Format("2 Jan")
}

// kindWord is a kind of session after a number.
func kindWord(n int, what string) string {
	switch {
	case what == rehab.Training:
		return "training " + plural(n, "session")[len(fmt.Sprint(n))+1:]
	case n == 1:
		return "match"
	}
	return "matches"
}

func (e *Env) sayDay(t time.Time) string { return dayOf(t.Format(time.DateOnly), e.Now) }

// shown is how many days the list of sessions goes ahead, today included.
const shown = 14

type listArgs struct{ From string }

// SessionsCmd lists the calendar.
var SessionsCmd = New(Def[listArgs]{
	Name:     "sessions",
	Also:     []string{"fixtures"},
	Summary:  "Training and matches of two weeks, from today or a day to come.",
	Needs:    rehab.ReadCalendar,
	Privacy:  Anyone,
	Fields:   func(a *listArgs) []Field { return []Field{Until(fromDay, &a.From)} },
	Examples: []string{"sessions", "sessions from 2026-04-01"},
	Run: func(ctx context.Context, env *Env, a listArgs) (Reply, error) {
		cal, err := env.Calendar(ctx)
		return lines(env.listCalendar(cal, a.From)...), err
	},
})

func (e *Env) listCalendar(cal rehab.Calendar, day string) []string {
	zone, first, span := e.Now.Location(), dateOf(e.Now), "the next two weeks"
	if from, err := time.Parse(time.DateOnly, day); err == nil {
		first, span = from, "two weeks from "+dayOf(day, e.Now)
	}
	out := []string{upper(span) + "; days not listed are rest:"}
	for i := range shown {
		date := first.AddDate(0, 0, i)
		noon := rehab.LocalTime(date, 12, 0, zone)
		if kind := cal.Type(noon, zone); kind != rehab.RestDay {
			out = append(out, e.dayLine(date, kind, cal.On(noon, zone)))
		}
	}
	if len(out) == 1 {
		out = []string{"No sessions in " + span + "."}
		if rehab.May(e.Actor.Roles, rehab.ManageCalendar) {
			out[0] += " Put one in: " + TrainingCmd.Examples[0]
		}
	}
	end := first.AddDate(0, 0, shown)
	last := ""
	if next, ok := cal.NextMatch(e.Now); ok && !dateOf(next.Start.In(zone)).Before(end) {
		last = "Next match: " + e.sayStart(next.Start) + "."
	}
	for _, s := range cal.Sessions {
		if date := dateOf(s.Start.In(zone)); !date.Before(end) {
			last = join(" ", last, "Later: sessions from "+e.typedDay(date))
			break
		}
	}
	if last != "" {
		out = append(out, last)
	}
	return out
}

// dayLine is a day and its sessions: "Fri 6 Mar, day before a match: training 18:30–20:00".
func (e *Env) dayLine(date time.Time, kind rehab.DayType, list []rehab.Session) string {
	says := "• " + e.sayDay(date)
	if kind == rehab.DayBefore {
		says += ", " + string(kind)
	}
	var each []string
	for _, s := range list {
		each = append(each, fmt.Sprintf("%s %s–%s", s.What, s.Start.In(e.Now.Location()).Format("15:04"), s.End().In(e.Now.Location()).Format("15:04")))
	}
	return says + rehab.Prefixed(": ", strings.Join(each, ", "))
}
