package commands

import (
	"context"
	"fmt"
	"time"

	"footing/rehab"
)

type cancelArgs struct {
	Session string
	From    string
	When    coming
}

// fromDay is a day to come from which something holds.
var fromDay = newAhead("from")

// CancelCmd takes a session out of the calendar, or all of a kind from a day on.
var CancelCmd = New(Def[cancelArgs]{
	Name:    "cancel",
	Exact:   true,
	Summary: "Take a session out of the calendar, or the rest of a series.",
	Needs:   rehab.ManageCalendar,
	Privacy: Anyone,
	Squad:   true,
	Fields: func(a *cancelArgs) []Field {
		return []Field{Opt(Choice("session", &a.Session, sessionWords)), Until(fromDay, &a.From), Opt(Which(&a.When))}
	},
	Examples: []string{"cancel training tue", "cancel match sat 15:00", "cancel training tue from 2026-03-10"},
	Run: func(ctx context.Context, env *Env, a cancelArgs) (Reply, error) {
		if a == (cancelArgs{}) {
			return Reply{}, refuse("Cancel what? For example: cancel training tue")
		}
		if a.From != "" {
			return env.cancelRest(ctx, a)
		}
		_, s, err := env.which(ctx, a.Session, a.When, func(s string) string { return "cancel " + s })
		if err != nil {
			return Reply{}, err
		}
		return env.add(ctx, rehab.Cancelled{Session: s.What, Start: s.Start}, func(after rehab.Calendar, _ rehab.Session, _ bool) []string {
			return append([]string{"Cancelled: " + env.saySession(s) + "."}, env.onlyThatOne(after, s)...)
		})
	},
})

// cancelRest takes out all sessions of a kind from a day on: those of a weekday, at a time, where they are said.
func (e *Env) cancelRest(ctx context.Context, a cancelArgs) (Reply, error) {
	if a.Session == "" {
		return Reply{}, refuse("Training or match? For example: cancel training tue from 10 Mar")
	}
	if _, err := time.Parse(time.DateOnly, a.When.Day); err == nil {
		return Reply{}, refuse("Two days are given: %s and from %s. Say one of them.", dayOf(a.When.Day, e.Now), dayOf(a.From, e.Now))
	}
	cal, err := e.Calendar(ctx)
	if err != nil {
		return Reply{}, err
	}
	var gone []rehab.Session
	for _, s := range cal.Sessions {
		start := s.Start.In(e.Told.Location())
		if s.What == a.Session && s.End().After(e.Told) && start.Format(time.DateOnly) >= a.From &&
			(a.When.Day == "" || weekdays[start.Weekday()][0] == a.When.Day) && (a.When.Clock == "" || start.Format("15:04") == a.When.Clock) {
			gone = append(gone, s)
		}
	}
	if len(gone) == 0 {
		return Reply{}, refuse("There is no %s%s from %s on; nothing was changed. Type sessions for what stands.", a.Session, e.sayWhen(a.When), dayOf(a.From, e.Now))
	}
	body := rehab.Cancelled{Session: a.Session, Start: gone[0].Start}
	for _, s := range gone[1:] {
		body.More = append(body.More, s.Start)
	}
	return e.add(ctx, body, func(rehab.Calendar, rehab.Session, bool) []string {
		if len(gone) == 1 {
			return []string{"Cancelled: " + e.saySession(gone[0]) + ", the only one from that day on."}
		}
		return []string{fmt.Sprintf("Cancelled: %d %s%s, from %s to %s. Type undo to have them back.", len(gone), kindWord(len(gone), a.Session), e.sayWhen(a.When), e.sayStart(gone[0].Start), e.sayStart(gone[len(gone)-1].Start))}
	})
}
