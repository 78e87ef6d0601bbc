package rehab

import (
	"cmp"
	"fmt"
	"slices"
	"time"
)

// Block is the prevention block of one ankle: short drill sessions each week after a return, and for as
// long as an athlete is flagged.
type Block struct {
	View  View      // what its drills are chosen for
	Why   string    // "returned Tue 3 Mar", "2 sprains in 12 months", "stability 22"
	From  time.Time // local day
	Until time.Time // its last local day; zero for as long as the flag stands
	Days  []time.Time
}

// Blocks lists the prevention blocks of the ankles that are not under treatment. p is the protocol for an
// athlete who has no episode.
func (a Assessment) Blocks(p *Protocol, now time.Time) []Block {
	var out []Block
	for _, side := range []Side{Left, Right} {
		if _, open := a.OpenOn(side); open || p == nil {
			continue
		}
		if b, ok := a.block(p, side, now); ok {
			for _, e := range a.State.Sessions {
				day := localDay(e.At, now.Location())
				if t, ok := e.Body.(Trained); ok && t.Side == side && t.Did != "none" && !day.Before(b.From) && !e.At.After(now) && !slices.Contains(b.Days, day) {
					b.Days = append(b.Days, day)
				}
			}
			out = append(out, b)
		}
	}
	return out
}

func (a Assessment) block(p *Protocol, side Side, now time.Time) (Block, bool) {
	v := preventing(p, a.State, side, now)
	for _, w := range a.Views {
		if w.Side == side && w.Rank == len(w.P.Stages)-1 && w.Course.Guided {
			v = w
		}
	}
	today := localDay(now, now.Location())
	b := Block{View: v}
	if v.Number > 0 {
		b.Why, b.From = "returned "+v.Since.Format("Mon 2 Jan"), localDay(v.Since, now.Location())
		b.Until = b.From.AddDate(0, 0, 7*v.P.Prevention.Weeks-1)
	}
	if why, since := flagged(a.State, v.P, side, now); why != "" {
		if from := localDay(since, now.Location()); b.Until.Before(from) { // the block after the return was over before
			b.From = from
		}
		b.Why, b.Until = why, time.Time{}
	}
	return b, b.Why != "" && (b.Until.IsZero() || !today.After(b.Until))
}

// preventing is the view of an ankle that was never treated here: the last stage's work.
func preventing(p *Protocol, st State, side Side, now time.Time) View {
	last := len(p.Stages) - 1
	v := View{Episode: Episode{Side: side, Protocol: p.Hash}, P: p, Course: p.Courses[0], Stage: p.Stages[last], Rank: last}
	for _, e := range st.Sessions {
		if b, ok := e.Body.(Trained); ok && e.Episode == 0 && b.Side == side {
			v.Entries = append(v.Entries, e)
		}
	}
	return v
}

// flagged says why an ankle is at risk, and since when: sprained so often within the protocol's time, or
// felt to be unstable, not too long ago and while no sprain is too recent for that to tell.
func flagged(st State, p *Protocol, side Side, now time.Time) (why string, since time.Time) {
	from := now.AddDate(0, -p.Prevention.WithinMonths, 0)
	told, past := st.PastAt[side], 0
	if told.After(from) {
		past, since = st.Past[side].Sprains, told
	}
	n, among := 0, 0 // among are those on record that the count told later holds too
	for _, ep := range st.Episodes {
		each(ep, func(e Entry, _ Sprained) {
			if ep.Side != side || !e.At.After(from) || e.At.After(now) {
				return
			}
			if n++; !e.At.After(told) {
				among++
			}
			if since.Before(e.At) {
				since = e.At
			}
		})
	}
	n += max(0, past-among)
	if n >= p.Prevention.Sprains {
		return fmt.Sprintf("%d sprains in %d months", n, p.Prevention.WithinMonths), since
	}
	t, _ := p.Test(p.Prevention.Instability)
	months := cmp.Or(p.Prevention.StandsMonths, p.Prevention.WithinMonths)
	stands := func(r Reading) bool { return !r.At.After(now) && r.At.After(now.AddDate(0, -months, 0)) }
	d, ok := lastMeasured(Days(st.Readings, t, side, stands, now.Location()))
	if ok && t.Warn.Says != "" && d.Value.Value <= t.Warn.AtMost && !sprainedWithin(st, side, d.Date, t.Warn.NotForDays, now.Location()) {
		y, m, day := d.Date.Date()
		return t.Key + " " + Number(d.Value.Value), time.Date(y, m, day, 0, 0, 0, 0, now.Location())
	}
	return "", time.Time{}
}

// sprainedWithin reports whether a side was sprained, for the first time or again, so shortly before a
// local day.
func sprainedWithin(st State, side Side, date time.Time, days int, zone *time.Location) bool {
	recent := false
	for _, ep := range st.Episodes {
		each(ep, func(e Entry, _ Sprained) {
			before := DaysBetween(localDay(e.At, zone), date, time.UTC)
			recent = recent || ep.Side == side && before >= 0 && before < days
		})
	}
	return recent
}

// Target is how many sessions a week the block asks for.
func (b Block) Target() int { return b.View.P.Prevention.PerWeek }

// Week counts the sessions of the seven days from a day on.
func (b Block) Week(from time.Time) int {
	n := 0
	for _, d := range b.Days {
		if !d.Before(from) && d.Before(from.AddDate(0, 0, 7)) {
			n++
		}
	}
	return n
}

// Asks reports whether a reminder of a session is due today: fewer than the target were done in seven days,
// and none today or yesterday, so that they spread over the week.
func (b Block) Asks(now time.Time) bool {
	today := localDay(now, now.Location())
	return b.Week(today.AddDate(0, 0, -6)) < b.Target() && !slices.ContainsFunc(b.Days, func(d time.Time) bool { return DaysBetween(d, today, time.UTC) <= 1 })
}

// ThisWeek counts the sessions since Monday.
func (b Block) ThisWeek(now time.Time) int { return b.Week(monday(now)) }

// LastWeek counts the sessions of the last whole week, Monday to Sunday; ok is false where the block had
// not begun by its Monday.
func (b Block) LastWeek(now time.Time) (n int, ok bool) {
	from := monday(now).AddDate(0, 0, -7)
	return b.Week(from), !b.From.After(from)
}

// Adherence is the share, in per cent, of the sessions asked for in the block's whole weeks so far that
// were done; more than asked in one week makes up for no other. ok is false before the first whole week.
func (b Block) Adherence(now time.Time) (percent int, ok bool) {
	done, asked := 0, 0
	for from := b.From; !from.AddDate(0, 0, 7).After(localDay(now, now.Location())); from = from.AddDate(0, 0, 7) {
		done, asked = done+min(b.Week(from), b.Target()), asked+b.Target()
	}
	if asked == 0 {
		return 0, false
	}
	return 100 * done / asked, true
}

func monday(now time.Time) time.Time {
	day := localDay(now, now.Location())
	return day.AddDate(0, 0, -(int(day.Weekday())+6)%7)
}

// FollowUp is the follow-up after a return that is due and not done, in months; 0 when none is. Any
// examination or test of that ankle from shortly before its day on counts as it, and the next one takes its
// place. A new sprain of the ankle ends them.
func (v View) FollowUp(st State, now time.Time) int {
	if v.Open || v.Rank < len(v.P.Stages)-1 || slices.ContainsFunc(st.Episodes, func(ep Episode) bool { return ep.Side == v.Side && ep.Number > v.Number }) {
		return 0
	}
	back, today := localDay(v.Since, now.Location()), localDay(now, now.Location())
	due := 0
	for _, months := range v.P.Prevention.FollowUps {
		if !back.AddDate(0, months, 0).After(today) {
			due = months
		}
	}
	from := back.AddDate(0, due, -v.P.Prevention.Lead)
	counts := func(at time.Time) bool { return !localDay(at, now.Location()).Before(from) && !at.After(now) }
	seen := slices.ContainsFunc(st.Readings, func(r Reading) bool {
		return (r.Side == v.Side || r.Side == None) && (r.Episode == v.Number || r.Episode == 0) && counts(r.At)
	})
	each(v.Episode, func(e Entry, _ Screened) { seen = seen || counts(e.At) })
	if due == 0 || seen {
		return 0
	}
	return due
}
