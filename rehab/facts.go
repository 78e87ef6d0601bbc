package rehab

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

func (g gateReader) fact(c Criterion) Result {
	s := g.v.Screening
	switch c.Fact {
	case "screen-complete":
		if s.Cleared || s.Complete && len(s.Holds(g.p)) > 0 {
			return Result{Status: Met, Says: "screen complete"}
		}
		return Result{Status: Missing, Says: "screen " + g.v.WhyNotCleared()}
	case "not-held":
		if holds := s.Holds(g.p); len(holds) > 0 {
			return Result{Status: NotMet, Says: "held: " + holds[0].Says}
		}
		return Result{Status: Met, Says: "not held"}
	case "nothing-to-recheck":
		if says := s.Recheck(g.p); says != "" {
			return Result{Status: NotMet, Says: says}
		}
		return Result{Status: Met, Says: "nothing to recheck"}
	case "morning-not-worse":
		return g.morning()
	}
	return g.laterFact(c)
}

// morning reads the last answer. One of the day of the sprain may be bad news and never good: the joint
// answers the morning after.
func (g gateReader) morning() Result {
	m := g.v.Morning
	switch {
	case !m.Known:
		return Result{Status: Missing, Says: "no morning answer since the sprain"}
	case g.v.LastWorse(g.now):
		return Result{Status: NotMet, Says: "morning worse" + g.v.WhenWorse(g.now) + ": " + m.Why, Seqs: []int64{m.Seq}}
	case !m.Date.After(localDay(g.v.Screening.reset, g.now.Location())):
		return Result{Status: Missing, Says: "no morning answer since the day of the sprain", Seqs: []int64{m.Seq}}
	case !m.Fresh:
		return Result{Status: Stale, Says: "morning answer of " + m.Date.Format("Mon 2 Jan"), Seqs: []int64{m.Seq}}
	}
	return Result{Status: Met, Says: "morning not worse", Seqs: []int64{m.Seq}}
}

// laterFact reads the facts that only the last gates ask for.
func (g gateReader) laterFact(c Criterion) Result {
	switch c.Fact {
	case "healing-floor":
		f, ok := g.p.Floor(g.v.Course.Key, g.v.Grade)
		n := g.v.healing(g.now)
		if ok && n < f.Days {
			return Result{Status: NotMet, Says: fmt.Sprintf("day %d of %d for healing (%s)", n, f.Days, gradeName(g.v.Grade))}
		}
		return Result{Status: Met, Says: fmt.Sprintf("day %d, past %d for healing", n, f.Days)}
	case "steady":
		from := g.now.AddDate(0, 0, -g.p.Limits.SteadyDays)
		for _, m := range g.v.Mornings {
			if m.Date.After(localDay(from, g.now.Location())) && g.p.resets(m.Answer.Alarms) {
				return Result{Status: NotMet, Says: "gave way on " + m.Date.Format("Mon 2 Jan"), Seqs: []int64{m.Seq}}
			}
		}
		if g.v.Screening.reset.After(from) && g.v.Screening.reset.After(g.ep.At) {
			return Result{Status: NotMet, Says: "gave way or sprained again in the last " + fmt.Sprint(g.p.Limits.SteadyDays) + " days"}
		}
		return Result{Status: Met, Says: fmt.Sprintf("no giving way in %d days", g.p.Limits.SteadyDays)}
	case "support-stated":
		r := Result{Status: Missing, Says: "support plan"}
		each(g.ep, func(e Entry, b Supported) {
			r = Result{Status: Met, Says: "support: " + b.Support, Seqs: []int64{e.Seq}}
		})
		return r
	}
	return Result{Status: Missing, Says: c.Fact} // domains-answered is read last, from the others
}

func gradeName(g int) string {
	if g == 0 {
		return "grade not given"
	}
	return fmt.Sprintf("grade %d", g)
}

// counts are the measures that count sessions instead of reading one value.
var counts = map[string]func(gateReader, Criterion, Test) Result{
	"sessions":         func(g gateReader, c Criterion, t Test) Result { return g.sessions(c, t, "full", "full-contact") },
	"contact-sessions": func(g gateReader, c Criterion, t Test) Result { return g.sessions(c, t, "full-contact") },
}

// sessions counts the days with a team session, since this stage began and not too old, whose next
// morning was answered and not worse.
func (g gateReader) sessions(c Criterion, t Test, kinds ...string) Result {
	if c.Measure == "contact-sessions" && !g.contact {
		return Result{Status: Met, Says: "no contact in this sport"}
	}
	r := Result{Status: NotMet}
	n, waiting := 0, 0
	counts := func(r Reading) bool {
		return slices.Contains(kinds, r.Choice) && !r.At.Before(g.v.Since) && !r.At.Before(g.since) && DaysBetween(r.At, g.now, g.now.Location()) <= t.ValidDays
	}
	for _, d := range Days(g.st.Readings, t, None, counts, g.now.Location()) {
		r.Seqs = append(r.Seqs, d.Seqs...)
		switch m, ok := on(g.v.Mornings, d.Date.Add(24*time.Hour)); {
		case ok && !m.Worse:
			n++
		case !ok:
			waiting++
		}
	}
	r.against(c, strings.ReplaceAll(kinds[0], "-", " ")+" team sessions with a good morning after", float64(n), "")
	if waiting > 0 {
		r.Says += fmt.Sprintf(", %d without a morning answer", waiting)
	}
	return r
}
