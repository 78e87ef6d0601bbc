package rehab

import (
	"slices"
	"time"
)

// Playing is where an athlete who played on after a sprain stands. Many go back the same or the next
// day; they may only with a complete negative screen and every check passed in one sitting, and only
// until a check after the match or a morning says otherwise (common practice).
type Playing struct {
	On      bool
	Since   time.Time
	Waiting string // what is still to be answered: "the check after the match", "the morning after"
	Stopped string // why it ended, when it did
}

// over reports whether an ankle that was played on needs nothing more: every check was clean and the
// delayed examination is done or its day well past.
func (v View) over(now time.Time) bool {
	day := v.P.Limits.ReexamineDay
	c := concerns{v: v, now: now}
	return v.Playing.On && v.Playing.Waiting == "" && (c.examinedFrom(day-1) || v.healing(now) > day+2)
}

// playing follows the checks of an episode up to now.
func (v View) playing(now time.Time) Playing {
	var p Playing
	var after *PlayedOn
	each(v.Episode, func(e Entry, b PlayedOn) {
		if e.At.Before(v.Screening.reset) {
			return
		}
		if b.After {
			after = &b
			return
		}
		p, after = Playing{On: len(b.Missed) == 0, Since: e.At}, nil
	})
	if !p.On {
		return p
	}
	stop := func(why string) Playing { return Playing{Since: p.Since, Stopped: why} }
	days := DaysBetween(p.Since, now, now.Location())
	switch {
	case !v.Screening.Negative(v.P):
		return stop("the screen is not a clean negative")
	case after != nil && len(after.Missed) > 0:
		return stop("the check after the match was not clean")
	case after == nil && days > 0:
		return stop("it was not checked after the match")
	case after == nil:
		p.Waiting = "the check after the match"
	}
	from := localDay(p.Since, now.Location())
	if i := slices.IndexFunc(v.Mornings, func(m Morning) bool { return m.Date.After(from) && (m.Worse || m.Answer.Pain > v.P.PlayOn.MaxPain) }); i >= 0 {
		return stop("the morning of " + v.Mornings[i].Date.Format("Mon 2 Jan") + " was worse")
	}
	if _, answered := on(v.Mornings, from.AddDate(0, 0, 1)); !answered {
		if days > 0 {
			return stop("the morning after is not answered")
		}
		if p.Waiting == "" {
			p.Waiting = "the morning after"
		}
	}
	return p
}
