package rehab

import (
	"cmp"
	"slices"
	"time"
)

// DayLoad is what one local day asked of an athlete.
type DayLoad struct {
	Date     time.Time // local day
	Contacts int       // ground contacts of one leg: in drills, tests and team sessions
	Running  int       // minutes of running in drills and tests
	Effort   int       // session RPE × minutes, summed (Foster 2001 JSCR 15:109, formula from memory)
	Assumed  bool      // part of it is a plan that was sent and not answered: it counts as done
}

// Loads lists every local day up to today, from the first on which anything was recorded. A leg is
// named because contacts load one leg; drills for the other ankle and team sessions count for both.
func Loads(st State, p *Protocol, leg Side, now time.Time) []DayLoad {
	l := loads{p: p, leg: leg, zone: now.Location(), days: map[time.Time]*DayLoad{}, tests: map[string]*Test{}}
	for i := range p.Tests {
		l.tests[p.Tests[i].Key] = &p.Tests[i]
	}
	l.sessions(st, now)
	for _, r := range st.Readings {
		if !r.At.After(now) {
			l.test(r)
		}
	}
	if len(l.days) == 0 {
		return nil
	}
	today, first := localDay(now, l.zone), localDay(now, l.zone)
	for day := range l.days {
		if day.Before(first) {
			first = day
		}
	}
	var out []DayLoad
	for day := first; !day.After(today); day = day.AddDate(0, 0, 1) {
		out = append(out, *l.on(day))
	}
	return out
}

type loads struct {
	p    *Protocol
	leg  Side
	zone *time.Location
	days map[time.Time]*DayLoad

	tests map[string]*Test // by key: a season has thousands of readings
}

func (l loads) on(day time.Time) *DayLoad {
	if l.days[day] == nil {
		l.days[day] = &DayLoad{Date: day}
	}
	return l.days[day]
}

// sessions counts what was done, once however often it was told, and of each day and side the last
// plan, unless it was told afterwards how that went.
func (l loads) sessions(st State, now time.Time) {
	told := map[string][][]Dose{}
	last := map[string]int64{} // by day and side: when it was last told how the session went
	for _, e := range st.Sessions {
		if e.At.After(now) {
			continue
		}
		day := localDay(e.At, l.zone)
		switch b := e.Body.(type) {
		case Trained:
			key := day.Format(time.DateOnly) + string(b.Side)
			again := slices.ContainsFunc(told[key], func(t []Dose) bool { return len(t) > 0 && slices.Equal(t, b.Doses) })
			told[key], last[key] = append(told[key], b.Doses), max(last[key], e.Original())
			if b.Did != "none" && !again {
				d := l.on(day)
				d.Contacts, d.Running = d.Contacts+b.Contacts, d.Running+b.Running
			}
		case Worked:
			l.on(day).Effort += b.Effort * b.Minutes
		}
	}
	for key, e := range latestPlans(st.Sessions) {
		b := e.Body.(Planned)
		day, err := time.Parse(time.DateOnly, b.Day)
		answered := max(last[key], last[b.Day]) > e.Original()
		if err != nil || b.Shown || answered || day.After(localDay(now, l.zone)) {
			continue
		}
		d := l.on(day)
		d.Contacts, d.Running, d.Assumed = d.Contacts+b.Contacts, d.Running+b.Running, true
	}
}

// latestPlans keeps of each day and side the plan that was sent last; where none was sent, the one that staff
// were shown last.
func latestPlans(sessions []Entry) map[string]Entry {
	out := map[string]Entry{}
	for _, e := range sessions {
		if b, ok := e.Body.(Planned); ok {
			key := b.Day + string(b.Side)
			if had, ok := out[key].Body.(Planned); ok && b.Shown && !had.Shown {
				continue
			}
			out[key] = e
		}
	}
	return out
}

// test counts what a test made the leg do.
func (l loads) test(r Reading) {
	t := l.tests[r.Test]
	if t == nil || r.Absent != "" || r.Side != None && r.Side != l.leg {
		return
	}
	contacts := t.Contacts * len(r.Trials)
	if t.CountContacts {
		for _, trial := range r.Trials {
			contacts += int(trial.Value)
		}
	}
	contacts += l.p.Planning.TeamSession[r.Choice]
	running := 0
	if t.Unit == "min" && len(r.Trials) > 0 {
		running = int(r.Trials[len(r.Trials)-1].Value)
	}
	if contacts+running > 0 {
		d := l.on(localDay(r.At, l.zone))
		d.Contacts, d.Running = d.Contacts+contacts, d.Running+running
	}
}

// EWMA is the exponentially weighted average of a series, oldest first: today × λ + yesterday's ×
// (1 − λ) with λ = 2 ÷ (days + 1), begun with the first value (Williams 2017 BJSM 51:209). It describes
// what was done; it does not forecast injury. An empty series gives 0.
func EWMA(series []float64, days int) float64 {
	if len(series) == 0 || days < 1 {
		return 0
	}
	lambda := 2 / float64(days+1)
	out := series[0]
	for _, x := range series[1:] {
		out = x*lambda + out*(1-lambda)
	}
	return out
}

// sessionsOf gathers what was planned, done and how hard it was, in the order it happened.
func sessionsOf(ordered []Entry) []Entry {
	var out []Entry
	for _, e := range ordered {
		switch e.Body.(type) {
		case Planned, Trained, Worked:
			out = append(out, e)
		}
	}
	slices.SortStableFunc(out, func(x, y Entry) int { return cmp.Or(x.At.Compare(y.At), cmp.Compare(x.Seq, y.Seq)) })
	return out
}
