package rehab

import (
	"fmt"
	"slices"
	"time"
)

// NoDrills says why no drills are proposed for an ankle, or for prevention, as of an instant; empty when
// they may be.
func NoDrills(a Assessment, v View, now time.Time) string {
	switch {
	case !a.State.Alert.IsZero():
		return "No drills: something is wrong with it. Do not load it until medical staff have examined it."
	case v.Screening.Held(v.P):
		return "No drills: the ankle is held. Protect it and do not load it until medical staff say so."
	case v.Open && !v.Screening.Cleared:
		return "No drills yet: the ankle is not cleared. Protect it and do not load it until medical staff say so."
	case v.Rank < 0:
		return "No drills: the protocol this ankle follows has no stage " + v.Stage.Name + ". Ask the medical staff."
	case slices.ContainsFunc(a.Open(), func(w View) bool { return w.Screening.Held(w.P) || !w.Screening.Cleared }):
		return "No drills: the other ankle is held or not cleared. Load neither until medical staff say so."
	case !v.Course.Guided:
		return "No drills are proposed on this course: do what medical staff tell you."
	case slices.ContainsFunc(a.State.Current(now), func(r Restriction) bool { return r.Level == Unavailable }):
		return "No drills: unavailable for another reason. Ask the medical staff when to go on."
	}
	return ""
}

// NoMore says why nothing more is proposed on a day although drills may be done and told: the first steps
// or drills of that day hurt too much. Empty when there is no such reason.
func NoMore(a Assessment, v View, now time.Time) string {
	limit := v.P.Response.DrillsTolerated
	if m := v.Morning; v.WorseStands(now) && m.Answer.Pain > limit {
		return fmt.Sprintf("No drills today: pain %d in the first steps%s is above %d. Rest and protect it; medical staff see the answer.", m.Answer.Pain, v.WhenWorse(now), limit)
	}
	for _, e := range a.State.Sessions {
		b, ok := e.Body.(Trained)
		if ok && b.Side == v.Side && b.Pain != nil && *b.Pain > limit && !e.At.After(now) && DaysBetween(e.At, now, now.Location()) == 0 {
			return fmt.Sprintf("No more drills today: pain %d is above %d. Rest and protect it; answer the morning question tomorrow.", *b.Pain, limit)
		}
	}
	return ""
}

// Shortfall is how far an ankle falls short of its comparator in a quality.
type Shortfall struct {
	Test    string
	Percent int // 0–100, of the comparator
}

// Shortfalls gives for every quality with a two-sided test the one that falls shortest. Only what was
// measured since the sprain counts, and nothing that is within the error of its test: a leg that is a
// centimetre off does not fall short.
func Shortfalls(st State, v View, now time.Time) map[string]Shortfall {
	out := map[string]Shortfall{}
	for _, t := range v.P.Tests {
		if t.Quality == "" || t.Sides != "both" {
			continue
		}
		d, ok := lastMeasured(Days(st.Readings, t, v.Side, func(r Reading) bool { return !r.At.Before(v.At) && !r.At.After(now) }, now.Location()))
		if !ok {
			continue
		}
		with := Compare(st, v.Episode, t, d, v.P, now.Location())
		pct, ok := t.Symmetry(d.Value, with.With.Value)
		if real, judged := t.RealChange(with.With.Value.Value, d.Value.Value); judged && !real {
			continue
		}
		if short := int(100 - pct); ok && with.With.Measured() && short > out[t.Quality].Percent {
			out[t.Quality] = Shortfall{t.Key, min(short, 100)}
		}
	}
	return out
}

// LastTrained gives for every quality the local day it was last trained since the last injury.
func (v View) LastTrained(now time.Time) map[string]time.Time {
	out := map[string]time.Time{}
	for _, e := range v.trained(now) {
		for _, dose := range e.Body.(Trained).Doses {
			if d, ok := v.P.Drill(dose.Drill); ok && e.Body.(Trained).Did != "none" {
				out[d.Quality] = localDay(e.At, now.Location())
			}
		}
	}
	return out
}

// PlanFor finds the plan that a session on a local day answers when it is told at an instant: the last one
// sent by then for that day and side. What is sent later changes nothing about it.
func (st State) PlanFor(day time.Time, side Side, told time.Time) (Planned, bool) {
	e, ok := st.planFor(day, side, told)
	b, _ := e.Body.(Planned)
	return b, ok
}

func (st State) planFor(day time.Time, side Side, told time.Time) (Entry, bool) {
	by := slices.DeleteFunc(slices.Clone(st.Sessions), func(e Entry) bool { return e.At.After(told) })
	e, ok := latestPlans(by)[day.Format(time.DateOnly)+string(side)]
	return e, ok
}

// NightEnds is the hour up to which what is told without a time may still be of the evening before (common
// practice).
const NightEnds = 4

// EveningPlan finds the plan of the evening before that an answer told in the night means, and the last
// second of its day: there is none of the new day yet, and it was not answered.
func (st State) EveningPlan(side Side, told time.Time) (Planned, time.Time, bool) {
	y, m, d := told.Date()
	evening := time.Date(y, m, d, 0, 0, 0, 0, told.Location()).Add(-time.Second)
	if _, today := st.planFor(told, side, told); today || told.Hour() >= NightEnds {
		return Planned{}, told, false
	}
	e, ok := st.planFor(evening, side, told)
	answered := slices.ContainsFunc(st.Sessions, func(x Entry) bool {
		b, is := x.Body.(Trained)
		return is && b.Side == side && x.Original() > e.Original() && !x.At.After(told) && DaysBetween(x.At, evening, told.Location()) <= 0
	})
	b, _ := e.Body.(Planned)
	return b, evening, ok && !answered
}

// Same reports whether two plans ask for the same on the same day.
func (b Planned) Same(c Planned) bool {
	return b.Day == c.Day && b.Side == c.Side && b.Budget == c.Budget && slices.Equal(b.Doses, c.Doses) && slices.Equal(b.Kit, c.Kit)
}
