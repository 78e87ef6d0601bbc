package rehab

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Status is how a criterion stands. Only Met opens a gate.
type Status string

// The ways a criterion can stand.
const (
	Met     Status = "met"
	NotMet  Status = "not met"
	Missing Status = "missing"
	Stale   Status = "stale"
)

// Facts are the conditions a gate may ask for that are not tests.
var Facts = []string{"screen-complete", "not-held", "morning-not-worse"}

// Result is one criterion of a gate, read now.
type Result struct {
	Criterion Criterion
	Status    Status
	Says      string // what was found and by how much it falls short, for medical eyes
	Seqs      []int64
}

// gateReader reads criteria of one episode at one instant.
type gateReader struct {
	st    State
	ep    Episode
	p     *Protocol
	v     *View
	now   time.Time
	since time.Time // what was measured before this is stale: the sprain, or the latest set-back
}

func (g gateReader) read(gate Gate) []Result {
	var out []Result
	for _, c := range gate.Criteria {
		out = append(out, g.best(c))
	}
	return out
}

// best reads a criterion and its alternatives: met if any is met, else the first reading that has
// something to say.
func (g gateReader) best(c Criterion) Result {
	first := g.one(c)
	first.Criterion = c
	if first.Status == Met {
		return first
	}
	for _, alt := range c.Or {
		alt.Test, alt.Key = cmp.Or(alt.Test, c.Test), c.Key
		if r := g.one(alt); r.Status == Met {
			r.Criterion = c
			return r
		}
	}
	return first
}

func (g gateReader) one(c Criterion) Result {
	if c.Fact != "" {
		return g.fact(c)
	}
	t, _ := g.p.Test(c.Test)
	side := g.ep.Side
	if t.Sides == "none" {
		side = None
	}
	zone := g.now.Location()
	days := Days(g.st.Readings, t, side, func(r Reading) bool { return !r.At.Before(g.since) }, zone)
	if len(days) == 0 {
		if len(Days(g.st.Readings, t, side, func(r Reading) bool { return !r.At.Before(g.ep.At) }, zone)) > 0 {
			return Result{Status: Stale, Says: t.Key + " (before the set-back)"}
		}
		return Result{Status: Missing, Says: t.Key}
	}
	d := days[len(days)-1]
	r := Result{Seqs: d.Seqs}
	switch age := g.age(d); {
	case d.Absent != "":
		r.Status, r.Says = Missing, fmt.Sprintf("%s %s: %s", t.Key, d.Absent, d.Reason)
	case age > t.ValidDays:
		r.Status, r.Says = Stale, fmt.Sprintf("%s (%d days old)", t.Key, age)
	default:
		g.judge(c, t, d, &r)
	}
	return r
}

// age is how many local days ago a day was.
func (g gateReader) age(d Day) int {
	return DaysBetween(d.Date, localDay(g.now, g.now.Location()), time.UTC)
}

func (g gateReader) judge(c Criterion, t Test, d Day, r *Result) {
	if len(c.OneOf) > 0 {
		r.Status, r.Says = NotMet, fmt.Sprintf("%s %s, needs %s", t.Key, d.Choice, strings.Join(c.OneOf, " or "))
		if slices.Contains(c.OneOf, d.Choice) {
			r.Status, r.Says = Met, t.Key+" "+d.Choice
		}
		return
	}
	if d.Value.Failed {
		r.Status, r.Says = NotMet, t.Key+" failed"
		return
	}
	switch c.Measure {
	case "floor":
		floor := t.FloorFor(g.st.Athlete)
		c.AtLeast = &floor
		r.against(c, t.Key, d.Value.Value, t.Unit)
	case "value":
		r.against(c, t.Key, d.Value.Value, t.Unit)
	default:
		g.compare(c, t, d, r)
	}
}

func (g gateReader) compare(c Criterion, t Test, d Day, r *Result) {
	with := Compare(g.st, g.ep, t, d, g.p, g.now.Location())
	other := with.Used == OtherSide
	switch {
	case with.Used != Baseline && !other:
		r.Status, r.Says = Missing, t.Key+" of the other side"
		return
	case other && g.age(with.With) > t.ValidDays:
		r.Status, r.Says = Stale, fmt.Sprintf("%s of the other side (%d days old)", t.Key, g.age(with.With))
		return
	case other && !g.afterSetBack(with.With):
		r.Status, r.Says = Stale, t.Key+" of the other side (before the set-back)"
		return
	}
	r.Seqs = append(slices.Clone(r.Seqs), with.With.Seqs...)
	if c.Measure == "deficit" {
		r.against(c, t.Key+" deficit", t.Deficit(d.Value, with.With.Value), t.Unit)
	} else {
		pct, ok := t.Symmetry(d.Value, with.With.Value)
		if !ok {
			r.Status, r.Says = Missing, t.Key+": cannot be compared with 0"
			return
		}
		r.against(c, t.Key+" symmetry", pct, "%")
	}
	r.Says += " (vs " + string(with.Used) + Prefixed(", ", with.Flag) + g.beside(t, d) + ")"
}

// beside shows the floor next to a comparison, which flatters: the other leg weakens too.
func (g gateReader) beside(t Test, d Day) string {
	if t.Floor == 0 {
		return ""
	}
	return fmt.Sprintf("; %s of the floor of %s", Number(d.Value.Value), Number(t.FloorFor(g.st.Athlete)))
}

// afterSetBack reports whether any of a day's readings came after the latest set-back.
func (g gateReader) afterSetBack(d Day) bool {
	return slices.ContainsFunc(g.st.Readings, func(r Reading) bool {
		return slices.Contains(d.Seqs, r.Seq) && !r.At.Before(g.since)
	})
}

// against compares a value with the criterion's threshold and says by how much it misses. A met
// criterion is judged on the value itself, not on the value as printed.
func (r *Result) against(c Criterion, what string, v float64, unit string) {
	unit = Prefixed(" ", unit)
	r.Status, r.Says = Met, what+" "+Number(v)+unit
	if c.AtLeast != nil && v < *c.AtLeast-rounding {
		r.Status = NotMet
		r.Says = what + " " + apart(v, *c.AtLeast) + unit + fmt.Sprintf(", needs %s (%s short)", Number(*c.AtLeast), apart(*c.AtLeast-v, 0))
	}
	if c.AtMost != nil && v > *c.AtMost+rounding {
		r.Status = NotMet
		r.Says = what + " " + apart(v, *c.AtMost) + unit + fmt.Sprintf(", needs at most %s (%s over)", Number(*c.AtMost), apart(v-*c.AtMost, 0))
	}
}

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
	case "morning-not-worse":
		m := g.v.Morning
		switch {
		case !m.Known:
			return Result{Status: Missing, Says: "no morning answer since the sprain"}
		case !m.Fresh:
			return Result{Status: Stale, Says: "morning answer of " + m.Date.Format("Mon 2 Jan"), Seqs: []int64{m.Seq}}
		case m.Worse:
			return Result{Status: NotMet, Says: "morning worse: " + m.Why, Seqs: []int64{m.Seq}}
		}
		return Result{Status: Met, Says: "morning not worse", Seqs: []int64{m.Seq}}
	}
	return Result{Status: Missing, Says: c.Fact}
}

// apart prints a value with as many decimals as it takes to show that it is not the other.
func apart(v, other float64) string {
	if Number(v) != Number(other) {
		return Number(v)
	}
	return strconv.FormatFloat(v, 'f', 2, 64)
}

// Number prints a value with at most one decimal.
func Number(v float64) string {
	return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64)
}

// Prefixed puts a prefix before a text that is not empty.
func Prefixed(prefix, text string) string {
	if text == "" {
		return ""
	}
	return prefix + text
}
