package protocol

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"footing/rehab"
)

// checker looks for faults of meaning: names that point nowhere, thresholds without a source,
// numbers that cannot be.
type checker struct {
	file   string
	p      *rehab.Protocol
	faults Faults
}

func (c *checker) fault(field, format string, args ...any) {
	c.faults = append(c.faults, Fault{File: c.file, Field: field, Says: fmt.Sprintf(format, args...)})
}

// locate gives each fault its line, or that of the nearest thing around it, and puts them in order.
func (c *checker) locate(lines map[string]int) {
	for i, f := range c.faults {
		if f.Line > 0 {
			continue
		}
		line := lines[f.Field]
		for at := f.Field; line == 0 && at != ""; line = lines[at] {
			at = at[:max(strings.LastIndexByte(at, '.'), 0)]
		}
		c.faults[i].Line = max(line, 1)
	}
	slices.SortStableFunc(c.faults, func(a, b Fault) int { return cmp.Compare(a.Line, b.Line) })
}

func (c *checker) check() {
	c.need("name", c.p.Name)
	c.need("caution", c.p.Caution)
	c.stages()
	c.courses()
	c.findings()
	c.screen()
	c.tests()
	c.gates()
	c.response()
	c.rest()
	c.outlook()
}

func (c *checker) need(field, value string) {
	if strings.TrimSpace(value) == "" {
		c.fault(field, "must not be empty")
	}
}

func (c *checker) oneOf(field, value string, known ...string) {
	if !slices.Contains(known, value) {
		c.fault(field, "%q is not one of %s", value, strings.Join(known, ", "))
	}
}

// unique reports an empty or repeated key.
func (c *checker) unique(list string, keys []string) {
	seen := map[string]bool{}
	for i, k := range keys {
		field := fmt.Sprintf("%s[%d].key", list, i)
		if c.need(field, k); seen[k] {
			c.fault(field, "%q is there twice", k)
		}
		seen[k] = true
	}
}

func keys[T any](list []T, key func(T) string) []string {
	out := make([]string, len(list))
	for i, v := range list {
		out[i] = key(v)
	}
	return out
}

func (c *checker) stages() {
	c.unique("stage", keys(c.p.Stages, func(s rehab.Stage) string { return s.Key }))
	if len(c.p.Stages) < 2 {
		c.fault("stage", "at least two stages are needed")
		return
	}
	for i, s := range c.p.Stages {
		at := fmt.Sprintf("stage[%d]", i)
		c.need(at+".name", s.Name)
		c.oneOf(at+".availability", string(s.Availability), string(rehab.Full), string(rehab.Modified), string(rehab.Unavailable))
	}
	if last := len(c.p.Stages) - 1; c.p.Stages[last].Availability != rehab.Full {
		c.fault(fmt.Sprintf("stage[%d].availability", last), "the last stage must be full")
	}
}

func (c *checker) courses() {
	c.unique("course", keys(c.p.Courses, func(s rehab.Course) string { return s.Key }))
	if len(c.p.Courses) == 0 || !c.p.Courses[0].Guided {
		c.fault("course", "the first course is the usual one and must be guided")
	}
	for i, course := range c.p.Courses {
		if len(course.Words) == 0 {
			c.fault(fmt.Sprintf("course[%d].words", i), "needs at least one word")
		}
	}
}

// findings checks that no phrase means two things.
func (c *checker) findings() {
	c.unique("finding", keys(c.p.Findings, func(f rehab.Finding) string { return f.Key }))
	owner := map[string]string{}
	claim := func(field string, phrases []string) {
		for _, ph := range phrases {
			if by, taken := owner[ph]; taken {
				c.fault(field, "%q already means %s", ph, by)
			}
			owner[ph] = field
		}
	}
	for i, f := range c.p.Findings {
		at := fmt.Sprintf("finding[%d]", i)
		c.need(at+".name", f.Name)
		if len(f.Yes) == 0 {
			c.fault(at+".yes", "needs at least one phrase")
		}
		claim(at+".yes", f.Yes)
		claim(at+".no", f.No)
	}
	for i, g := range c.p.Groups {
		at := fmt.Sprintf("group[%d]", i)
		c.need(at+".phrase", g.Phrase)
		claim(at+".phrase", []string{g.Phrase})
		claim(at+".words", g.Words)
		c.terms(at+".yes", g.Yes, false)
		c.terms(at+".no", g.No, false)
	}
}

// ScreenFacts are the terms a rule may use that are no finding: who the athlete is, or what befell
// the ankle since.
var ScreenFacts = []string{"under-18", "under-16", "strict-minors", "new-sprain", "gave-way"}

func (c *checker) terms(field string, terms []string, facts bool) {
	for _, t := range terms {
		key := strings.TrimPrefix(t, "not ")
		alarm, isAlarm := strings.CutPrefix(key, "alarm-")
		if _, known := c.p.Alarm(alarm); isAlarm && known && facts {
			continue
		}
		if _, ok := c.p.Finding(key); !ok && (!facts || !slices.Contains(ScreenFacts, key)) {
			c.fault(field, "%q is no finding", t)
		}
	}
}

func (c *checker) screen() {
	c.unique("question", keys(c.p.Questions, func(q rehab.Question) string { return q.Key }))
	c.unique("outcome", keys(c.p.Outcomes, func(o rehab.Outcome) string { return o.Key }))
	c.unique("rule", keys(c.p.Rules, func(r rehab.Rule) string { return r.Key }))
	for i, q := range c.p.Questions {
		at := fmt.Sprintf("question[%d]", i)
		c.need(at+".name", q.Name)
		c.need(at+".type", q.Type)
		c.need(at+".source", q.Source)
		c.terms(at+".all", q.All, false)
		c.terms(at+".any", q.Any, false)
		c.terms(at+".only_if", q.OnlyIf, true)
	}
	for i, o := range c.p.Outcomes {
		c.need(fmt.Sprintf("outcome[%d].says", i), o.Says)
		if _, ok := c.p.Course(o.Course); o.Course != "" && !ok {
			c.fault(fmt.Sprintf("outcome[%d].course", i), "%q is no course", o.Course)
		}
	}
	outcomes := keys(c.p.Outcomes, func(o rehab.Outcome) string { return o.Key })
	for i, r := range c.p.Rules {
		at := fmt.Sprintf("rule[%d]", i)
		c.oneOf(at+".outcome", r.Outcome, outcomes...)
		c.need(at+".says", r.Says)
		c.need(at+".source", r.Source)
		c.terms(at+".all", r.All, true)
		c.terms(at+".any", r.Any, true)
		c.terms(at+".examined", r.Examined, false)
		if (r.OverDays > 0) != (len(r.Examined) > 0) {
			c.fault(at+".over_days", "over_days and examined go together")
		}
		for _, s := range r.Series {
			c.oneOf(at+".series", s, "ankle", "foot")
		}
		if len(r.All)+len(r.Any)+r.OverDays == 0 {
			c.fault(at, "never fires: all, any and over_days are empty")
		}
		if r.OverDays < 0 || r.FromHours < 0 {
			c.fault(at, "over_days and from_hours cannot be negative")
		}
	}
}

func (c *checker) tests() {
	c.unique("test", keys(c.p.Tests, func(t rehab.Test) string { return t.Key }))
	for i, t := range c.p.Tests {
		at := fmt.Sprintf("test[%d]", i)
		c.need(at+".name", t.Name)
		c.need(at+".kit", t.Kit)
		c.need(at+".source", t.Source)
		c.oneOf(at+".sides", t.Sides, "both", "injured", "none")
		if len(t.Words) == 0 {
			c.fault(at+".words", "needs at least one word")
		}
		if t.ValidDays <= 0 {
			c.fault(at+".valid_days", "must be at least 1")
		}
		if len(t.Parts) != len(t.Of) {
			c.fault(at+".of", "must name tests that are measured themselves")
		}
		c.extras(at, t)
		if len(t.Choices) > 0 {
			continue
		}
		c.oneOf(at+".better", t.Better, "more", "less")
		c.oneOf(at+".take", t.Take, "best", "mean", "last")
		if t.Max <= t.Min {
			c.fault(at+".max", "must be above min")
		}
		if t.UsualMin < t.Min || t.UsualMax > t.Max || t.UsualMax < t.UsualMin {
			c.fault(at+".usual_max", "the usual band must lie inside min to max")
		}
		if t.Cap < 0 || t.Cap > t.Max {
			c.fault(at+".cap", "must lie inside min to max")
		}
		if t.RealChangeBeyond() > 0 {
			c.need(at+".mdc_source", t.MDCSource)
		}
		if t.Floor > 0 {
			c.need(at+".floor_source", t.FloorFrom)
		}
	}
}

func (c *checker) extras(at string, t rehab.Test) {
	if t.Items.Count > 0 {
		c.need(at+".items.source", t.Items.Source)
		if t.Items.Highest <= 0 || t.Items.Needed <= 0 || t.Items.Needed > t.Items.Count {
			c.fault(at+".items", "highest and needed must be at least 1, needed at most count")
		}
	}
	if t.Warn.Says != "" {
		c.need(at+".warn.source", t.Warn.Source)
	}
	for i, n := range t.Named {
		if len(n.Words)+len(n.Alone) == 0 || n.Value < t.Min || n.Value > t.Max {
			c.fault(fmt.Sprintf("%s.named[%d]", at, i), "needs a word and a value inside min to max")
		}
		if (n.Choice != "") != (len(t.Choices) > 0) || n.Choice != "" && !slices.Contains(t.Choices, n.Choice) {
			c.fault(fmt.Sprintf("%s.named[%d].choice", at, i), "%q is no choice of this test", n.Choice)
		}
	}
}

func (c *checker) gates() {
	seen := map[string]bool{}
	for i, g := range c.p.Gates {
		at := fmt.Sprintf("gate[%d]", i)
		_, from := c.p.Stage(g.From)
		_, to := c.p.Stage(g.To)
		switch {
		case from < 0 || g.From == "":
			c.fault(at+".from", "%q is no stage", g.From)
		case seen[g.From]:
			c.fault(at+".from", "%q already has a gate", g.From)
		case to != from+1:
			c.fault(at+".to", "%q does not follow %q", g.To, g.From)
		}
		seen[g.From] = true
		c.unique(at+".criterion", keys(g.Criteria, func(cr rehab.Criterion) string { return cr.Key }))
		if len(g.Criteria) == 0 {
			c.fault(at, "has no criterion and would always be open")
		}
		for j, cr := range g.Criteria {
			c.criterion(fmt.Sprintf("%s.criterion[%d]", at, j), cr, "")
		}
	}
}

func (c *checker) criterion(at string, cr rehab.Criterion, parent string) {
	c.need(at+".source", cr.Source)
	if cr.Fact != "" {
		c.oneOf(at+".fact", cr.Fact, rehab.Facts...)
		return
	}
	if cr.Finding != "" {
		c.terms(at+".finding", []string{cr.Finding}, false)
		return
	}
	t, ok := c.p.Test(cmp.Or(cr.Test, parent))
	if !ok {
		c.fault(at+".test", "%q is no test", cr.Test)
		return
	}
	c.oneOf(at+".measure", cr.Measure, rehab.Measures...)
	c.threshold(at, cr, t)
	if cr.Then != "" {
		c.oneOf(at+".then", cr.Then, "morning")
	}
	if cr.Domain != "" {
		c.oneOf(at+".domain", cr.Domain, rehab.Domains...)
	}
	for _, course := range cr.Courses {
		if _, ok := c.p.Course(course); !ok {
			c.fault(at+".courses", "%q is no course", course)
		}
	}
	if slices.Contains([]string{"deficit", "symmetry", "difference", "usual", "each", "close", "of-leg"}, cr.Measure) && t.Sides != "both" {
		c.fault(at+".measure", "%s has no two sides to compare", t.Key)
	}
	if cr.Measure == "pain" && !t.WithPain {
		c.fault(at+".measure", "%s is recorded without pain", t.Key)
	}
	for k, alt := range cr.Or {
		c.criterion(fmt.Sprintf("%s.or[%d]", at, k), alt, cmp.Or(cr.Test, parent))
	}
}

// threshold checks that a criterion says what it asks for.
func (c *checker) threshold(at string, cr rehab.Criterion, t rehab.Test) {
	counted := cr.Measure == "sessions" || cr.Measure == "contact-sessions" || cr.Measure == "pain"
	switch {
	case cr.Measure == "floor":
		if t.Floor == 0 || cr.AtLeast != nil || cr.AtMost != nil {
			c.fault(at+".measure", "takes its threshold from the floor of %s, and only from there", t.Key)
		}
	case len(t.Choices) > 0 && !counted:
		if len(cr.OneOf) == 0 {
			c.fault(at+".one_of", "is needed for %s", t.Key)
		}
		for _, w := range cr.OneOf {
			c.oneOf(at+".one_of", w, t.Choices...)
		}
	case (cr.Measure == "close") != (cr.BothAtLeast > 0):
		c.fault(at+".both_at_least", "goes with the measure close, and with no other")
	case cr.AtLeast == nil && cr.AtMost == nil:
		c.fault(at, "needs at_least or at_most")
	}
}

// rest checks the healing floors, the checks for playing on, and the drills.
func (c *checker) rest() {
	for i, f := range c.p.Floors {
		at := fmt.Sprintf("healing_floor[%d]", i)
		c.need(at+".source", f.Source)
		if _, ok := c.p.Course(f.Course); !ok {
			c.fault(at+".course", "%q is no course", f.Course)
		}
		if f.Days < 0 || f.Grade < 0 || f.Grade > 3 {
			c.fault(at, "days cannot be negative and grade goes from 0 (not known) to 3")
		}
	}
	if _, ok := c.p.Test("pain-drills"); !ok {
		c.fault("drill", "needs a test pain-drills, which keeps the pain in them")
	}
	c.need("play_on.source", c.p.PlayOn.Source)
	c.unique("play_on.check", keys(c.p.PlayOn.Checks, func(k rehab.Check) string { return k.Key }))
	c.drills()
	c.planning()
	c.prevention()
}

func (c *checker) response() {
	r := c.p.Response
	c.need("response.source", r.Source)
	c.need("response.drills_source", r.DrillsSource)
	for _, f := range []struct {
		field string
		value int
	}{
		{"response.rise_from_yesterday", r.RiseFromYesterday}, {"response.rise_from_lowest", r.RiseFromLowest},
		{"response.lowest_days", r.LowestDays}, {"response.high_pain", r.HighPain}, {"response.good_hours", r.GoodHours},
		{"limits.baseline_days", c.p.Limits.BaselineDays}, {"limits.reexamine_day", c.p.Limits.ReexamineDay},
		{"limits.undo_hours", c.p.Limits.UndoHours}, {"limits.grade_day", c.p.Limits.GradeDay}, {"limits.steady_days", c.p.Limits.SteadyDays},
		{"limits.no_gain_days", c.p.Limits.NoGainDays}, {"limits.long_weeks", c.p.Limits.LongWeeks}, {"limits.unknown_run", c.p.Limits.UnknownRun}, {"limits.missed_days", c.p.Limits.MissedDays}, {"response.drills_fine", r.DrillsFine}, {"response.drills_tolerated", r.DrillsTolerated - r.DrillsFine},
		{"limits.unlikely_mdc_times", c.p.Limits.UnlikelyTimes}, {"limits.training_minutes", c.p.Limits.Training}, {"limits.match_minutes", c.p.Limits.Match},
	} {
		if f.value <= 0 {
			c.fault(f.field, "must be at least 1")
		}
	}
	for i, sport := range c.p.Limits.ContactSports {
		c.oneOf(fmt.Sprintf("limits.contact_sports[%d]", i), sport, rehab.Sports...)
	}
	c.need("limits.source", c.p.Limits.Source)
	c.unique("alarm", keys(c.p.Alarms, func(a rehab.Alarm) string { return a.Key }))
	for i, a := range c.p.Alarms {
		c.need(fmt.Sprintf("alarm[%d].source", i), a.Source)
	}
}
