package commands

import (
	"slices"
	"time"

	"footing/rehab"
	"footing/rehab/outlook"
)

// scored is how often the ranges of past outlooks held the day of the return.
type scored struct{ n, in80, in50 int }

// score makes the outlook of every ankle that is back by now as it would have been a day after the
// injury, from nothing but what had been logged by then, and compares it with the return. An ankle that
// was back already, held, or not logged yet had no outlook.
func (c club) score(env *Env) scored {
	var out scored
	for _, a := range c.roster {
		for _, v := range c.states[a.ID].Views {
			if v.Rank != len(v.P.Stages)-1 {
				continue
			}
			then := *env
			then.Now = v.At.AddDate(0, 0, 1)
			f, ok := c.asOf(&then, a, v.Number)
			if !ok {
				continue
			}
			out.n++
			back := rehab.DaysBetween(then.Now, v.Since, env.Now.Location())
			held := func(part float64) bool {
				from, to, open := f.Range(part)
				return back >= from && (open || back <= to)
			}
			if held(0.8) {
				out.in80++
			}
			if held(0.5) {
				out.in50++
			}
		}
	}
	return out
}

// asOf is the outlook of one ankle at an earlier instant.
func (c club) asOf(env *Env, a rehab.Athlete, episode int) (outlook.Forecast, bool) {
	entries := map[int64][]rehab.Entry{}
	var roster []rehab.Athlete
	for _, who := range c.roster {
		known := loggedBy(c.entries[who.ID], env.Now)
		if slices.ContainsFunc(known, func(e rehab.Entry) bool { return e.Episode > 0 }) {
			roster, entries[who.ID] = append(roster, who), known
		}
	}
	then := newClub(env, roster, entries)
	for _, v := range then.states[a.ID].Open() {
		if v.Number != episode || v.Playing.On || v.Screening.Held(v.P) {
			continue
		}
		f, err := then.forecast(v, env.Now)
		return f, err == nil
	}
	return outlook.Forecast{}, false
}

func loggedBy(entries []rehab.Entry, t time.Time) []rehab.Entry {
	return slices.DeleteFunc(slices.Clone(entries), func(e rehab.Entry) bool { return e.Logged.After(t) })
}
