package commands

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"footing/rehab"
)

// WeekCard is the week that ended with Sunday, for medical staff on Monday: what came, who moved, what was
// done of what was asked, and the week ahead. nil when there is nothing to tell.
func WeekCard(ctx context.Context, env *Env) ([]Reply, error) {
	squad, err := readSquad(ctx, env)
	if err != nil {
		return nil, err
	}
	cal, err := env.Calendar(ctx)
	if err != nil {
		return nil, err
	}
	w := week{to: dateOf(env.Now).AddDate(0, 0, -(int(env.Now.Weekday())+6)%7), zone: env.Now.Location()}
	w.from = w.to.AddDate(0, 0, -7)
	for _, who := range squad {
		w.add(who, env.Now)
	}
	out := w.lines()
	if len(out) == 0 {
		return nil, nil
	}
	out = append([]string{fmt.Sprintf("Last week, %s – %s:", w.from.Format("Mon 2 Jan"), w.to.AddDate(0, 0, -1).Format("Mon 2 Jan"))}, out...)
	if ahead := w.ahead(cal); ahead != "" {
		out = append(out, "This week: "+ahead+".")
	}
	return []Reply{lines(out...)}, nil
}

// week counts what happened on the local days from one up to, but not with, another.
type week struct {
	from, to time.Time // UTC dates
	zone     *time.Location

	came, moved       []string
	asked, done       int // drill sessions that were planned, and done
	mornings, answers int // to be asked, and answered
	days              int // of athletes who could not do all
}

// holds reports whether an instant is in the week.
func (w *week) holds(t time.Time) bool { return w.on(dateOf(t.In(w.zone))) }

func (w *week) on(day time.Time) bool { return !day.Before(w.from) && day.Before(w.to) }

func (w *week) add(who standingOf, now time.Time) {
	w.days += who.state.DaysNotFull(w.from, w.to, now)
	for _, v := range who.state.Views {
		if w.holds(v.At) {
			w.came = append(w.came, who.Label()+" "+v.Side.Short())
		}
		for _, e := range v.Entries {
			if d, ok := e.Body.(rehab.Decided); ok && d.Action != rehab.Stay && w.holds(e.At) {
				w.moved = append(w.moved, fmt.Sprintf("%s %s → %s", who.Label(), stageName(v, d.From), stageName(v, d.To)))
			}
		}
		w.answered(v, now)
	}
	planned, done := map[string]bool{}, map[string]bool{}
	for _, e := range who.state.State.Sessions {
		switch b := e.Body.(type) {
		case rehab.Planned:
			if key := b.Day + string(b.Side); w.holds(e.At) {
				planned[key] = planned[key] || !b.Shown
			}
		case rehab.Trained:
			if b.Did != "none" && w.holds(e.At) {
				done[e.At.In(w.zone).Format(time.DateOnly)+string(b.Side)] = true
			}
		}
	}
	for key, sent := range planned {
		if done[key] {
			w.done++
		}
		if sent || done[key] { // what only staff were shown, nobody owes
			w.asked++
		}
	}
}

// answered counts the mornings of an ankle: those from the day after the sprain to the last under treatment.
func (w *week) answered(v rehab.View, now time.Time) {
	last := dateOf(now)
	if !v.Open {
		last = dateOf(v.Since.In(w.zone))
	}
	for day := w.from; day.Before(w.to); day = day.AddDate(0, 0, 1) {
		if !day.After(dateOf(v.At.In(w.zone))) || day.After(last) {
			continue
		}
		w.mornings++
		if slices.ContainsFunc(v.Mornings, func(m rehab.Morning) bool { return m.Date.Equal(day) }) {
			w.answers++
		}
	}
}

func stageName(v rehab.View, key string) string {
	if s, i := v.P.Stage(key); i >= 0 {
		return s.Name
	}
	return key
}

// lines is the week without its heading; none when nothing happened and nobody is under treatment.
func (w *week) lines() []string {
	var out []string
	if len(w.came) > 0 {
		out = append(out, "New: "+strings.Join(w.came, ", ")+".")
	}
	if len(w.moved) > 0 {
		out = append(out, "Moved: "+strings.Join(w.moved, "; ")+".")
	}
	var kept []string
	if w.asked > 0 {
		kept = append(kept, fmt.Sprintf("drills done %d of %d", w.done, w.asked))
	}
	if w.mornings > 0 {
		kept = append(kept, fmt.Sprintf("mornings answered %d of %d", w.answers, w.mornings))
	}
	if len(kept) > 0 {
		out = append(out, capital(strings.Join(kept, ", "))+".")
	}
	if w.days > 0 {
		out = append(out, fmt.Sprintf("Player-days not full: %d.", w.days))
	}
	return out
}

// ahead is the calendar of the week that begins.
func (w *week) ahead(cal rehab.Calendar) string {
	next := *w
	next.from, next.to = w.to, w.to.AddDate(0, 0, 7)
	var trainings, out []string
	for _, s := range cal.Sessions {
		switch at := s.Start.In(w.zone); {
		case !next.holds(s.Start):
		case s.What == rehab.Match:
			out = append(out, "match "+at.Format("Mon 15:04"))
		default:
			trainings = append(trainings, at.Format("Mon"))
		}
	}
	if len(trainings) > 0 {
		out = append([]string{"training " + strings.Join(slices.Compact(trainings), ", ")}, out...)
	}
	return strings.Join(out, "; ")
}
