package rehab

import (
	"cmp"
	"maps"
	"slices"
	"strings"
	"time"
)

// Restriction is one limit that medical staff put on an athlete, for any cause.
type Restriction struct {
	Restricted
	From  time.Time // when it was said
	Seq   int64
	Ended time.Time // when a later word ended it, zero while none has
}

// restrictions lists every limit ever put on an athlete, in the order they were said, each with the
// word that ended it. Only a word of full ends anything: a second limit never lifts the first.
func restrictions(entries []Entry) []Restriction {
	said := slices.DeleteFunc(slices.Clone(entries), func(e Entry) bool { return e.Body.Kind() != KindRestricted })
	slices.SortFunc(said, func(x, y Entry) int {
		return cmp.Or(x.At.Compare(y.At), cmp.Compare(x.Original(), y.Original()), cmp.Compare(x.Seq, y.Seq))
	})
	var out []Restriction
	for _, e := range said {
		b, ok := e.Body.(Restricted)
		switch {
		case !ok:
		case b.Level != Full:
			out = append(out, Restriction{Restricted: b, From: e.At, Seq: e.Seq})
		default:
			for i := range out {
				if out[i].Ended.IsZero() {
					out[i].Ended = e.At
				}
			}
		}
	}
	return out
}

// Current lists the restrictions that apply at an instant, whose location is the team's zone: not
// ended, and the last day they were said for not over.
func (st State) Current(now time.Time) []Restriction {
	today := now.Format(time.DateOnly)
	var out []Restriction
	for _, r := range st.Restrictions {
		if r.Ended.IsZero() && (r.Until == "" || today <= r.Until) {
			out = append(out, r)
		}
	}
	return out
}

// strictness orders the levels, the tightest lowest.
func (l Level) strictness() int {
	return slices.Index([]Level{Unavailable, Modified, Full}, l)
}

// Tighter reports whether a level leaves less of the team's work than another.
func (l Level) Tighter(than Level) bool { return l.strictness() < than.strictness() }

// With adds a restriction: the tighter level wins, and of two alike everything that either forbids
// is forbidden. It says nothing of what may be done, so of what was allowed there stays what it does
// not forbid; who is unavailable by it may do nothing with the team or alone.
func (a Availability) With(r Restriction) Availability {
	switch {
	case a.Level.Tighter(r.Level):
		return a
	case r.Level.Tighter(a.Level):
		a = Availability{Level: r.Level, Until: r.Until}
	default:
		a.Until = later(a.Until, r.Until)
	}
	a.Cannot, a.Ends = slices.Clone(a.Cannot), maps.Clone(a.Ends)
	for _, what := range r.Cannot {
		a.forbid(what, r.Until)
	}
	a.Can = slices.DeleteFunc(slices.Clone(a.Can), func(what string) bool {
		return a.Level == Unavailable || slices.ContainsFunc(r.Cannot, func(not string) bool { return strings.EqualFold(what, not) })
	})
	return a
}

// forbid adds one thing that cannot be done until a day. Said twice, it lasts for the longer of both.
func (a *Availability) forbid(what, until string) {
	i := slices.IndexFunc(a.Cannot, func(had string) bool { return strings.EqualFold(had, what) })
	if i >= 0 {
		what, until = a.Cannot[i], later(a.Ends[a.Cannot[i]], until)
	} else {
		a.Cannot = append(a.Cannot, what)
	}
	delete(a.Ends, what)
	if until == "" {
		return
	}
	if a.Ends == nil {
		a.Ends = map[string]string{}
	}
	a.Ends[what] = until
}

// later is the later of two last days; none is later than any.
func later(a, b string) string {
	if a == "" || b == "" {
		return ""
	}
	return max(a, b)
}

// Same reports whether coaches would read the same of both: the level, what can and what cannot be
// done, in any order. Days out and dates move on by themselves and are no news.
func (a Availability) Same(b Availability) bool {
	if a.Level == Unavailable && b.Level == Unavailable {
		return sameWords(a.Cannot, b.Cannot) // what they may do alone changes no training
	}
	return a.Level == b.Level && sameWords(a.Can, b.Can) && sameWords(a.Cannot, b.Cannot)
}

func sameWords(a, b []string) bool {
	return slices.Equal(slices.Sorted(slices.Values(a)), slices.Sorted(slices.Values(b)))
}

// spell is a run of local days on which something kept an athlete from full work, both ends included.
type spell struct{ from, to time.Time }

// spells lists what kept the athlete from full work: every ankle from its sprain to the day before
// its return, every restriction from the day it was said to its last.
func (a Assessment) spells(now time.Time) []spell {
	zone := now.Location()
	today := localDay(now, zone)
	var out []spell
	for _, v := range a.Views {
		s := spell{localDay(v.At, zone), today}
		if !v.Open {
			s.to = localDay(v.Since, zone).AddDate(0, 0, -1)
		}
		out = append(out, s)
	}
	for _, r := range a.State.Restrictions {
		s := spell{localDay(r.From, zone), today}
		if last, err := time.Parse(time.DateOnly, r.Until); err == nil && last.Before(s.to) {
			s.to = last
		}
		if !r.Ended.IsZero() {
			s.to = earlier(s.to, localDay(r.Ended, zone).AddDate(0, 0, -1))
		}
		out = append(out, s)
	}
	return out
}

// DaysNotFull counts the local days from one up to, but not with, another on which something kept the
// athlete from full work, up to now; each day once whatever the causes.
func (a Assessment) DaysNotFull(from, to, now time.Time) int {
	n := 0
	for day := from; day.Before(to); day = day.AddDate(0, 0, 1) {
		if slices.ContainsFunc(a.spells(now), func(s spell) bool { return !day.Before(s.from) && !day.After(s.to) }) {
			n++
		}
	}
	return n
}

// daysOut counts the days lost so far of the spell that reaches today, through every cause that
// followed another without a day of full work between them. The first day does not count (IOC 2020).
func daysOut(spells []spell, today time.Time) int {
	first := today.AddDate(0, 0, 1)
	for moved := true; moved; {
		moved = false
		for _, s := range spells {
			if s.from.Before(first) && !s.to.Before(first.AddDate(0, 0, -1)) {
				first, moved = s.from, true
			}
		}
	}
	return max(0, DaysBetween(first, today, time.UTC))
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}
