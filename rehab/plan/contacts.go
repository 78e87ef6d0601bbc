package plan

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"footing/rehab"
)

// allowance is how many ground contacts a plan of today may hold, and why when that is less than the
// stage's cap.
func allowance(a rehab.Assessment, v rehab.View, stage rehab.Stage, ask Ask, now time.Time) (int, []string) {
	ceiling := v.P.Planning.Cap(stage.Key)
	if v.WorseStands(now) {
		said := "this morning was worse"
		if when := v.WhenWorse(now); when != "" {
			said = "worse" + when
		}
		return 0, []string{"one level down and no jumps or landings: " + said}
	}
	if ceiling.Session == 0 {
		return 0, nil
	}
	no := func(why string) (int, []string) { return 0, []string{"no jumps or landings: " + why} }
	if ask.MatchNext && a.Level == rehab.Full {
		return no("match ahead")
	}
	if what := forbidden(a, v.P.Planning.Jumping, now); what != "" {
		return no("“no " + what + "” stands")
	}
	today, yesterday, week := spent(a, v, now)
	_, rank := v.P.Stage(stage.Key)
	if _, from := v.P.Stage(v.P.Planning.SpacedUntil); yesterday > 0 && rank < from {
		return no(fmt.Sprintf("%d yesterday", yesterday))
	}
	left := min(ceiling.Session-today, ceiling.Week-week)
	switch {
	case left <= 0 && ceiling.Session-today <= 0:
		return no(fmt.Sprintf("%d today already", today))
	case left <= 0:
		return no(fmt.Sprintf("%d in the last 7 days", week))
	case left < ceiling.Session:
		return left, []string{fmt.Sprintf("at most %d ground contacts: %d today, %d in 7 days", left, today, week)}
	}
	return left, nil
}

// spent counts ground contacts of today, of yesterday and of the last seven days with today. A plan
// already sent for today is left out: the new one takes its place.
func spent(a rehab.Assessment, v rehab.View, now time.Time) (today, yesterday, week int) {
	st, date := a.State, now.Format(time.DateOnly)
	st.Sessions = slices.DeleteFunc(slices.Clone(st.Sessions), func(e rehab.Entry) bool {
		b, ok := e.Body.(rehab.Planned)
		return ok && b.Day == date && b.Side == v.Side
	})
	for _, d := range rehab.Loads(st, v.P, v.Side, now) {
		switch age := rehab.DaysBetween(d.Date, day(now), time.UTC); {
		case age == 0:
			today = d.Contacts
		case age == 1:
			yesterday = d.Contacts
		}
		if rehab.DaysBetween(d.Date, day(now), time.UTC) < 7 {
			week += d.Contacts
		}
	}
	return today, yesterday, week
}

// day is the local date of an instant.
func day(now time.Time) time.Time {
	y, m, d := now.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// forbidden finds a restriction that holds one of some words, "" when none stands.
func forbidden(a rehab.Assessment, words []string, now time.Time) string {
	for _, r := range a.State.Current(now) {
		for _, what := range r.Cannot {
			if slices.ContainsFunc(words, func(w string) bool { return strings.Contains(strings.ToLower(what), w) }) {
				return what
			}
		}
	}
	return ""
}
