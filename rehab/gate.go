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

// BeforeSetBack ends what is said of a result that a set-back made stale.
const BeforeSetBack = " (before the set-back)"

// Facts are the conditions a gate may ask for that are not tests.
var Facts = []string{"screen-complete", "nothing-to-recheck", "not-held", "morning-not-worse", "healing-floor", "steady", "support-stated", "domains-answered"}

// Measures are the ways a criterion may read a test: the value; the floor in place of a comparison;
// the injured side against its comparator as symmetry, deficit (one way), difference in per cent of leg
// length, or close (both at a good level, little apart); the two sides as they are now, with no baseline
// in place of one, as difference (either way), deficit beyond the usual one, or the weaker of both;
// pain while doing it; the value in per cent of the own baseline; sessions counted.
var Measures = []string{"value", "floor", "symmetry", "deficit", "difference", "usual", "of-leg", "each", "close", "pain", "of-baseline", "rise", "sessions", "contact-sessions"}

// Domains are the five that a return decision rests on (PAASS, Smith 2021 BJSM 55:1270).
var Domains = []string{"pain", "ankle", "perception", "sensorimotor", "sport"}

// Result is one criterion of a gate, read now.
type Result struct {
	Criterion Criterion
	Status    Status
	Says      string  // what was found and by how much it falls short, for medical eyes
	Value     float64 // what was compared with the threshold, where one was
	Seqs      []int64
}

// gateReader reads criteria of one episode at one instant.
type gateReader struct {
	st      State
	ep      Episode
	p       *Protocol
	v       *View
	now     time.Time
	since   time.Time // what was measured before this is stale: the sprain, or the latest set-back
	contact bool      // the sport has contact
}

func (g gateReader) read(gate Gate) []Result {
	var out []Result
	for _, c := range gate.Criteria {
		if len(c.Courses) > 0 && !slices.Contains(c.Courses, g.v.Course.Key) || c.IfUsed && !g.used(c) {
			continue
		}
		out = append(out, g.best(c))
	}
	for i, r := range out {
		if r.Criterion.Fact == "domains-answered" {
			out[i].Status, out[i].Says = domainsAnswered(out)
		}
	}
	return append(g.unseen(), out...)
}

// used reports whether a criterion's test was ever measured in a way the criterion can read.
func (g gateReader) used(c Criterion) bool {
	if t, _ := g.p.Test(c.Test); c.Measure == "of-baseline" {
		_, ok := lastMeasured(baseline(g.st, g.ep, t, g.side(t), g.p, g.now.Location()))
		return ok
	}
	return slices.ContainsFunc(g.st.Readings, func(r Reading) bool { return r.Test == c.Test })
}

// side is the one a test is read of: the injured one, or none where the test has no sides.
func (g gateReader) side(t Test) Side {
	if t.Sides == "none" {
		return None
	}
	return g.ep.Side
}

// domainsAnswered asks that every domain has at least one criterion with an answer, met or not, that
// rests on something recorded: no session at all, or no contact in the sport, answers nothing.
func domainsAnswered(all []Result) (Status, string) {
	var open []string
	for _, d := range Domains {
		if !slices.ContainsFunc(all, func(r Result) bool {
			return r.Criterion.Domain == d && (r.Status == Met || r.Status == NotMet) && len(r.Seqs) > 0
		}) {
			open = append(open, d)
		}
	}
	if len(open) > 0 {
		return Missing, "domains without an answer: " + strings.Join(open, ", ")
	}
	return Met, "all five domains answered"
}

// best reads a criterion and its alternatives: met if any is met. Where another test may stand for the
// criterion's own, one that falls short says more than one that is missing.
func (g gateReader) best(c Criterion) Result {
	first := g.one(c)
	first.Criterion = c
	for _, alt := range c.Or {
		if first.Status == Met {
			return first
		}
		another := alt.Test != ""
		alt.Test, alt.Key = cmp.Or(alt.Test, c.Test), c.Key
		if r := g.one(alt); r.Status == Met || another && r.Status == NotMet && first.Status != NotMet {
			r.Criterion = c
			first = r
		}
	}
	return first
}

func (g gateReader) one(c Criterion) Result {
	switch {
	case c.Fact != "":
		return g.fact(c)
	case c.Finding != "":
		return g.finding(c)
	}
	t, _ := g.p.Test(c.Test)
	if read := counts[c.Measure]; read != nil {
		return read(g, c, t)
	}
	side, zone := g.side(t), g.now.Location()
	days := Days(g.st.Readings, t, side, func(r Reading) bool { return !r.At.Before(g.since) }, zone)
	if len(days) == 0 {
		if len(Days(g.st.Readings, t, side, func(r Reading) bool { return !r.At.Before(g.ep.At) }, zone)) > 0 {
			return Result{Status: Stale, Says: t.Key + BeforeSetBack}
		}
		if len(t.Parts) > 0 && g.tried(t, side) {
			return Result{Status: Missing, Says: t.Key + ": every direction on one day"}
		}
		return Result{Status: Missing, Says: t.Key}
	}
	d := days[len(days)-1]
	r := Result{Seqs: d.Seqs}
	switch age := g.age(d); {
	case d.Absent != "":
		r.Status, r.Says = Missing, fmt.Sprintf("%s %s: %s", t.Key, d.Absent, d.Reason)
	case d.Masked:
		r.Status, r.Says = Missing, t.Key+" masked by an analgesic"
	case age > t.ValidDays:
		r.Status, r.Says = Stale, fmt.Sprintf("%s (%d days old)", t.Key, age)
	default:
		g.judge(c, t, d, &r)
	}
	if r.Status == Met && c.Then == "morning" {
		g.then(d, &r)
	}
	return r
}

// tried reports whether any part of a test was measured since the sprain or the set-back.
func (g gateReader) tried(t Test, side Side) bool {
	return slices.ContainsFunc(g.st.Readings, func(r Reading) bool {
		return r.Side == side && !r.At.Before(g.since) && slices.ContainsFunc(t.Parts, func(part Test) bool { return part.Key == r.Test })
	})
}

// then asks that the morning after a day was answered and not worse.
func (g gateReader) then(d Day, r *Result) {
	m, ok := on(g.v.Mornings, d.Date.AddDate(0, 0, 1))
	switch {
	case !ok:
		r.Status, r.Says = Missing, r.Says+", but the morning after is not answered"
	case m.Worse:
		r.Status, r.Says = NotMet, r.Says+", but worse the morning after ("+m.Why+")"
	}
}

// finding reads the latest answer of the examination.
func (g gateReader) finding(c Criterion) Result {
	key, no := strings.CutPrefix(c.Finding, "not ")
	f, _ := g.p.Finding(key)
	known, ok := g.v.Screening.Answers[key]
	switch {
	case !ok:
		return Result{Status: Missing, Says: f.Name + " not examined"}
	case known.Yes == no:
		says := f.Name
		if !known.Yes {
			says = "not " + f.Name
		}
		return Result{Status: NotMet, Says: says, Seqs: []int64{known.Seq}}
	case no:
		return Result{Status: Met, Says: "no " + f.Name, Seqs: []int64{known.Seq}}
	}
	return Result{Status: Met, Says: f.Name, Seqs: []int64{known.Seq}}
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
	case "of-baseline", "rise":
		g.against(c, t, d, r)
	case "pain":
		if d.Pain == nil {
			r.Status, r.Says = Missing, "pain in "+t.Key
			return
		}
		r.against(c, "pain in "+t.Key, float64(*d.Pain), "")
	default:
		g.compare(c, t, d, r)
	}
}

func (g gateReader) compare(c Criterion, t Test, d Day, r *Result) {
	with := Compare(g.st, g.ep, t, d, g.p, g.now.Location())
	if slices.Contains([]string{"each", "difference", "usual"}, c.Measure) {
		with = compareSides(g.st, g.ep, t, d, g.now.Location())
	}
	other := with.Used == OtherSide
	switch {
	case with.Used != Baseline && !other:
		r.Status, r.Says = Missing, t.Key+" of the other side"
		return
	case other && g.age(with.With) > t.ValidDays:
		r.Status, r.Says = Stale, fmt.Sprintf("%s of the other side (%d days old)", t.Key, g.age(with.With))
		return
	case other && !g.afterSetBack(with.With):
		r.Status, r.Says = Stale, t.Key+" of the other side"+BeforeSetBack
		return
	}
	r.Seqs = append(slices.Clone(r.Seqs), with.With.Seqs...)
	if !g.beyond(c, t, d, with, r) {
		return
	}
	r.Says += " (vs " + string(with.Used) + Prefixed(", ", with.Flag) + g.beside(t, d) + ")"
}

// against reads a test against its own earlier values: the baseline before the sprain in per cent, or
// the lowest since the sprain as a rise.
func (g gateReader) against(c Criterion, t Test, d Day, r *Result) {
	side := g.side(t)
	if c.Measure == "of-baseline" {
		before, ok := lastMeasured(baseline(g.st, g.ep, t, side, g.p, g.now.Location()))
		pct, ok2 := t.Symmetry(d.Value, before.Value)
		if !ok || !ok2 {
			r.Status, r.Says = Missing, t.Key+" before the sprain"
			return
		}
		r.against(c, t.Key+" of own baseline", pct, "%")
		return
	}
	earlier := Days(g.st.Readings, t, side, func(x Reading) bool { return !x.At.Before(g.ep.At) && !slices.Contains(d.Seqs, x.Seq) }, g.now.Location())
	lowest, seen := 0.0, false
	for _, e := range earlier {
		if e.Measured() && !e.Value.Failed && (!seen || e.Value.Value < lowest) {
			lowest, seen = e.Value.Value, true
		}
	}
	if !seen {
		r.Status, r.Says = Missing, "an earlier "+t.Key+" to compare with"
		return
	}
	r.against(c, t.Key+" rise", d.Value.Value-lowest, t.Unit)
}

// beyond reads the comparison in the criterion's own measure; false when it cannot be worked out.
func (g gateReader) beyond(c Criterion, t Test, d Day, with Comparison, r *Result) bool {
	deficit := t.Deficit(d.Value, with.With.Value)
	switch c.Measure {
	case "deficit":
		r.against(c, t.Key+" deficit", deficit, t.Unit)
	case "difference":
		r.against(c, t.Key+" difference", math.Abs(deficit), t.Unit)
	case "usual":
		usual, ok := g.usual(t)
		if !ok {
			r.Status, r.Says = Missing, t.Key+" of both sides before the sprain"
			return false
		}
		r.against(c, t.Key+" deficit beyond the usual "+Number(usual), deficit-usual, t.Unit)
	case "close":
		if low := min(d.Value.Value, with.With.Value.Value); low < c.BothAtLeast {
			r.Status, r.Says = NotMet, t.Key+" "+Number(low)+" on the weaker side"
			return false
		}
		r.against(c, t.Key+" difference", math.Abs(deficit), t.Unit)
	case "each":
		r.against(c, t.Key+" on the weaker side", min(d.Value.Value, with.With.Value.Value), t.Unit)
	case "of-leg":
		if g.st.Athlete.Leg == 0 {
			r.Status, r.Says = Missing, "leg length, to judge "+t.Key+" by its error"
			return false
		}
		r.against(c, t.Key+" difference", Composite(math.Abs(deficit), g.st.Athlete.Leg), "% of leg length")
	default:
		pct, ok := t.Symmetry(d.Value, with.With.Value)
		if !ok {
			r.Status, r.Says = Missing, t.Key+": cannot be compared with 0"
			return false
		}
		r.against(c, t.Key+" symmetry", pct, "%")
	}
	return true
}

// usual is how much the injured side fell short of the other before the sprain.
func (g gateReader) usual(t Test) (float64, bool) {
	injured, ok := lastMeasured(baseline(g.st, g.ep, t, g.ep.Side, g.p, g.now.Location()))
	other, ok2 := lastMeasured(baseline(g.st, g.ep, t, g.ep.Side.Other(), g.p, g.now.Location()))
	return t.Deficit(injured.Value, other.Value), ok && ok2
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
	r.Status, r.Value, r.Says = Met, v, what+" "+Number(v)+unit
	if c.AtLeast != nil && v < *c.AtLeast-rounding {
		r.Status = NotMet
		r.Says = what + " " + apart(v, *c.AtLeast) + unit + fmt.Sprintf(", needs %s (%s short)", Number(*c.AtLeast), apart(*c.AtLeast-v, 0))
	}
	if c.AtMost != nil && v > *c.AtMost+rounding {
		r.Status = NotMet
		r.Says = what + " " + apart(v, *c.AtMost) + unit + fmt.Sprintf(", needs at most %s (%s over)", Number(*c.AtMost), apart(v-*c.AtMost, 0))
	}
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
