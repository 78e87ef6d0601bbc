package rehab

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"
)

// Urgency orders the clinic list; the lowest comes first.
type Urgency int

// The urgencies, most urgent first.
const (
	Now      Urgency = iota // an alarm: see them at once
	Held                    // held, or not cleared
	Today                   // today decides something: worse, due, waiting
	ThisWeek                // overdue, but not hurting
)

// Concern is one reason to see an athlete.
type Concern struct {
	Urgency Urgency
	Says    string
}

// Concerns lists why medical staff should see an athlete, most urgent first. Nothing in it is for
// coaches.
func Concerns(a Assessment, now time.Time) []Concern {
	var out []Concern
	for _, v := range a.Views {
		c := concerns{v: v, now: now}
		if v.Open {
			c.alarms()
			c.screen()
			c.mornings()
			c.progress()
			c.swelling(a.State)
			if says, ok := a.Offered[v.Number]; ok {
				c.add(ThisWeek, "the team's protocol has changed: accept-protocol %d to follow it (%s)", a.State.Athlete.Shirt, strings.Join(says, "; "))
			}
		}
		_, again := a.OpenOn(v.Side) // under treatment again, it is looked at anyway
		if m, worse := v.WorseSinceReturn(a.State, now); worse && !again {
			c.add(Today, "%s worse since the return: %s; examine it again", v.Side.Short(), m.Why)
		}
		if m := v.FollowUp(a.State, now); m > 0 && !again {
			c.add(ThisWeek, "%d-month follow-up: examine, stability test", m)
		}
		c.evidence(a.State) // a return is flagged too
		for _, x := range c.list {
			if len(a.Open()) > 1 {
				x.Says = v.Side.Short() + " " + x.Says
			}
			out = append(out, x)
		}
	}
	if at := a.State.Alert; !at.IsZero() && DaysBetween(at, now, now.Location()) <= alertDays {
		out = append(out, Concern{Now, SaidWrong(a.State, now) + ": examine"})
	}
	out = append(out, reviews(a.State, now)...)
	for _, b := range a.Prevention {
		if n, ok := b.LastWeek(now); ok && n < b.Target() {
			out = append(out, Concern{ThisWeek, fmt.Sprintf("prevention %s: %d of %d sessions last week", b.View.Side.Short(), n, b.Target())})
		}
	}
	slices.SortStableFunc(out, func(x, y Concern) int { return cmp.Compare(x.Urgency, y.Urgency) })
	return out
}

// alertDays is how long a word that something is wrong, or that an ankle is worse since its return, stays on
// the list when nobody examines.
const alertDays = 7

// WorseSinceReturn is the latest morning told of an ankle back in matches, where that was worse and medical
// staff have not said since that they have seen the athlete.
func (v View) WorseSinceReturn(st State, now time.Time) (Morning, bool) {
	m := v.Morning
	if v.Open || !v.P.last(v.Stage.Key) || !m.Worse || DaysBetween(m.Date, localDay(now, now.Location()), time.UTC) > alertDays {
		return m, false
	}
	told := v.Since
	each(v.Episode, func(e Entry, _ Responded) {
		if e.Seq == m.Seq {
			told = e.At
		}
	})
	return m, told.After(v.Since) && st.Seen.Before(told)
}

// reviews are the restrictions whose day to be looked at again has come.
func reviews(st State, now time.Time) []Concern {
	var out []Concern
	for _, r := range st.Current(now) {
		if r.Review != "" && r.Review <= now.Format(time.DateOnly) {
			out = append(out, Concern{Today, "review due: " + string(r.Level) + Prefixed(", ", r.Cause)})
		}
	}
	return out
}

type concerns struct {
	v    View
	now  time.Time
	list []Concern
	told []string // what the alarms told already: a hold or a worse morning for the same is not another reason
}

func (c *concerns) add(u Urgency, format string, args ...any) {
	c.list = append(c.list, Concern{u, fmt.Sprintf(format, args...)})
}

// alarms are told while the answer that raised them is the last one and no hold was lifted since.
func (c *concerns) alarms() {
	var last *Responded
	for _, e := range c.v.Entries {
		switch b := e.Body.(type) {
		case Responded:
			last = &b
		case Lifted:
			last = nil
		}
	}
	if last == nil || len(last.Alarms) == 0 {
		return
	}
	var names []string
	for _, key := range last.Alarms {
		a, _ := c.v.P.Alarm(key)
		names = append(names, a.Name)
		if a.Resets {
			key = "gave-way"
		}
		c.told = append(c.told, "alarm-"+key, key)
	}
	c.add(Now, "%s", strings.Join(names, ", "))
}

func (c *concerns) screen() {
	s := c.v.Screening
	holds := slices.DeleteFunc(s.Holds(c.v.P), func(r Rule) bool {
		return slices.ContainsFunc(r.Any, func(term string) bool { return slices.Contains(c.told, term) })
	})
	switch {
	case len(holds) > 0:
		c.add(Held, "held: %s", holds[0].Says)
	case !s.Cleared && !s.Held(c.v.P):
		c.add(Held, "screen %s", c.v.WhyNotCleared())
	case s.Recheck(c.v.P) != "":
		c.add(Today, "%s", s.Recheck(c.v.P))
	}
	due := c.v.P.Limits.ReexamineDay
	if c.v.healing(c.now) >= due && !c.examinedFrom(due-1) {
		c.add(Today, "day-%d examination", due)
	}
}

// examinedFrom reports whether anything was examined on or after a day since the last injury.
func (c *concerns) examinedFrom(day int) bool {
	found := false
	each(c.v.Episode, func(e Entry, _ Screened) {
		found = found || DaysBetween(c.v.Screening.reset, e.At, c.now.Location()) >= day
	})
	return found
}

func (c *concerns) mornings() {
	if p := c.v.Playing; p.On && p.Waiting == "" {
		return
	}
	m := c.v.Morning
	today := localDay(c.now, c.now.Location())
	switch n := c.v.Unanswered(c.now); {
	case c.v.NotSettling() && n < c.v.P.Limits.UnknownRun:
		c.add(Today, "not settling: worse twice running (%s); step back?", m.Why)
	case m.Worse && n >= c.v.P.Limits.UnknownRun:
		c.add(Today, "%d mornings not answered, the last was worse (%s: %s)", n, m.Date.Format("Mon"), m.Why)
	case m.Worse && (c.v.WorseStands(c.now) || !m.Date.Before(today.AddDate(0, 0, -1))) && (len(c.told) == 0 || m.Why != alarmWords(m.Answer.Alarms)):
		c.add(Today, "worse%s: %s", c.v.WhenWorse(c.now), m.Why)
	case n >= c.v.P.Limits.UnknownRun:
		c.add(Today, "%d mornings not answered", n)
	}
	if p := c.v.Playing; p.On && p.Waiting != "" {
		c.add(Today, "played on: %s is to come", p.Waiting)
	} else if p.Stopped != "" && c.v.Rank == 0 && c.v.Day < c.v.P.Limits.NoGainDays {
		c.add(Today, "played on, but %s: now on the course", p.Stopped)
	}
}

// progress is about the way to the next stage.
func (c *concerns) progress() {
	v := c.v
	if v.Playing.On || v.Screening.Held(v.P) || !v.Screening.Cleared {
		return
	}
	limits := v.P.Limits
	if since := DaysBetween(v.Since, c.now, c.now.Location()); since >= limits.NoGainDays {
		c.add(Today, "%d days in %s: review", since, v.Stage.Name)
	}
	switch long := limits.LongWeeks * 7; {
	case v.Day >= long && v.Morning.Known && v.Morning.Answer.Pain > 0:
		c.add(Today, "painful at %d weeks: refer", v.Day/7)
	case slices.ContainsFunc(v.Mornings, func(m Morning) bool {
		return v.P.resets(m.Answer.Alarms) && DaysBetween(v.At, m.Date, time.UTC) >= long
	}):
		c.add(Today, "giving way at %d weeks: refer", v.Day/7)
	}
	if !v.GateDefined {
		return
	}
	unmet, _ := v.Unmet()
	if len(unmet) == 0 {
		c.add(Today, "ready for %s: decide", v.Next.Name)
		return
	}
	var todo, ask []string
	for _, r := range unmet {
		switch open := r.Status == Missing || r.Status == Stale; {
		case open && r.Criterion.Test != "":
			todo = append(todo, r.Criterion.Test)
		case open && r.Criterion.Fact == "support-stated":
			ask = append(ask, "state the "+r.Says)
		case open && r.Criterion.Finding != "":
			ask = append(ask, r.Says)
		case open && r.Criterion.Fact == "morning-not-worse" && v.Day > 0 && v.Unanswered(c.now) < limits.UnknownRun: // there was a morning, and it was not said already
			ask = append(ask, "ask how the ankle was this morning")
		}
	}
	if len(todo) > 0 {
		c.add(ThisWeek, "measure %s", strings.Join(slices.Compact(todo), ", "))
	}
	if len(ask) > 0 {
		c.add(ThisWeek, "%s", strings.Join(ask, "; "))
	}
	if n := v.DaysWithoutDrills(c.now); n >= limits.MissedDays {
		c.add(ThisWeek, "no drills for %d days", n)
	}
}

// swelling tells of a measure of swelling that went up by more than its error against the value before it.
func (c *concerns) swelling(st State) {
	zone := c.now.Location()
	for _, t := range c.v.P.Tests {
		if !c.v.P.readsRise(t.Key) {
			continue
		}
		days := Days(st.Readings, t, c.v.Side, func(r Reading) bool { return !r.At.Before(c.v.At) && !r.At.After(c.now) }, zone)
		days = slices.DeleteFunc(days, func(d Day) bool { return !d.Measured() || d.Value.Failed })
		if len(days) < 2 {
			continue
		}
		last, before := days[len(days)-1], days[len(days)-2]
		real, _ := t.RealChange(before.Value.Value, last.Value.Value)
		if rise := last.Value.Value - before.Value.Value; real && rise > 0 && DaysBetween(last.Date, localDay(c.now, zone), time.UTC) <= t.ValidDays {
			c.add(ThisWeek, "%s up %s %s since %s: more swelling", t.Key, Number(rise), t.Unit, before.Date.Format("Mon 2 Jan"))
		}
	}
}

// readsRise reports whether a gate reads a test as a rise: what is measured is swelling, which must not go up.
func (p *Protocol) readsRise(test string) bool {
	return slices.ContainsFunc(p.Gates, func(g Gate) bool {
		return slices.ContainsFunc(g.Criteria, func(c Criterion) bool { return c.Test == test && c.Measure == "rise" })
	})
}

// DaysWithoutDrills counts the local days since drills were last done, or since the stage began.
func (v View) DaysWithoutDrills(now time.Time) int {
	last := v.Since
	each(v.Episode, func(e Entry, b Trained) {
		if b.Did != "none" && e.At.After(last) {
			last = e.At
		}
	})
	return DaysBetween(last, now, now.Location())
}

// evidence finds decisions that rest on facts which no longer stand as they did.
func (c *concerns) evidence(st State) {
	live := map[int64]bool{}
	for _, seq := range st.Live {
		live[seq] = true
	}
	each(c.v.Episode, func(e Entry, b Decided) {
		var changed []string
		for _, seen := range b.Evidence {
			if slices.ContainsFunc(seen.Seqs, func(seq int64) bool { return !live[seq] }) {
				changed = append(changed, seen.Criterion)
			}
		}
		if len(changed) > 0 {
			c.add(Today, "%s of %s rests on %s, changed since", b.Action, e.At.In(c.now.Location()).Format("Mon 2 Jan"), strings.Join(changed, ", "))
		}
	})
}
