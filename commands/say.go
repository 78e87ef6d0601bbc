package commands

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"footing/rehab"
)

// day says a date back, with the time when it was given.
func day(t time.Time) string {
	if t.Hour() == 12 && t.Minute() == 0 {
		return t.Format("Mon 2 Jan")
	}
	return t.Format("Mon 2 Jan 15:04")
}

// name is an ankle in a message: "7 Mere Tau, left".
func name(a rehab.Athlete, v rehab.View) string { return a.Label() + ", " + string(v.Side) }

// gateLine is the next gate in one line: what still blocks it, or that nothing does.
func gateLine(v rehab.View) string {
	switch {
	case !v.Open || v.Next == nil:
		return ""
	case !v.Course.Guided:
		return fmt.Sprintf("Course %s: no stages are proposed, availability and referral only.", v.Course.Name)
	case !v.GateDefined:
		return fmt.Sprintf("Criteria for %s are not in this protocol yet: the clinician decides.", v.Next.Name)
	}
	unmet, _ := v.Unmet()
	if len(unmet) == 0 {
		return fmt.Sprintf("All criteria for %s are met. A clinician confirms.", v.Next.Name)
	}
	var out, again []string
	for _, r := range unmet {
		before, setBack := strings.CutSuffix(r.Says, rehab.BeforeSetBack)
		if says := short(r); setBack && !slices.Contains(again, before) {
			again = append(again, before)
		} else if !setBack && !slices.Contains(out, says) {
			out = append(out, says) // a value and its pain are missing together
		}
	}
	if len(again) > 0 {
		out = append(out, "measure again since the set-back: "+strings.Join(again, ", "))
	}
	return fmt.Sprintf("Before %s: %s.", v.Next.Name, strings.Join(out, "; "))
}

// short is an unmet criterion in a few words.
func short(r rehab.Result) string {
	switch r.Status {
	case rehab.Missing:
		return strings.TrimPrefix(r.Says, "screen not complete: ") + " (missing)"
	case rehab.Stale:
		return r.Says + " (stale)"
	}
	return r.Says
}

// screenCard says what the examination means: the verdict first, then what to do.
func screenCard(a rehab.Athlete, v rehab.View) []string {
	s := v.Screening
	var out []string
	barred := false
	for _, key := range outcomeKeys(s.Hits) {
		o, _ := v.P.Outcome(key)
		out = append(out, outcomeLine(o, s))
		if o.Alone {
			return out[:1]
		}
		barred = barred || o.Bars
	}
	missing := rehab.MissingNames(s.Missing)
	switch {
	case s.Held(v.P):
		out = append(out, fmt.Sprintf("HELD: no drills, no loading tests, unavailable. Protect it. Once answered: lift-hold %d %s: what was found", a.Shirt, likelyCourse(s)))
	case !s.Examined():
		out = append(out, "NOT CLEARED: not examined. Protect it, no loading.")
	case len(missing) > 0:
		out = append(out, "NOT CLEARED: protect it, no loading. Not examined: "+strings.Join(missing, ", ")+".")
	case barred:
		out = append(out, "NOT CLEARED: protect it, no loading.")
	case s.Lifted != "":
		out = append(out, fmt.Sprintf("Screen complete, on the %s course since the hold was lifted: %s.", v.Course.Name, s.Lifted))
	case rechecking(s):
		out = append(out, "Fracture rule negative, but it does not bear load now: protected walking, no loading.")
	default:
		again := ""
		if !v.Reexamine.IsZero() {
			again = fmt.Sprintf(" Examine again on day %d (%s).", v.P.Limits.ReexamineDay, v.Reexamine.Format("Mon 2 Jan"))
		}
		out = append(out, "Screen complete, fracture rule negative: safe to treat as a sprain."+again)
	}
	if len(missing) > 0 {
		out = append(out, fmt.Sprintf("What is normal, type: screen %d %s", a.Shirt, typeMissing(v.P, s.Missing)))
	} else if s.Cleared && v.Rank == 0 && !rechecking(s) {
		out = append(out, fmt.Sprintf("Stage %s. Measure: %s.", v.Stage.Name, v.Stage.Next))
	}
	return out
}

// afterWorse is what a worse morning means for today, nothing once somebody has decided since.
func afterWorse(v rehab.View, now time.Time) string {
	if !v.WorseStands(now) {
		return ""
	}
	if v.Morning.Answer.Pain > v.P.Response.DrillsTolerated {
		return fmt.Sprintf("No drills today: above %d. Examine it.", v.P.Response.DrillsTolerated)
	}
	if rank := v.ForToday(now); rank < v.Rank {
		return fmt.Sprintf("Today the work of %s: nothing leaves the ground.", v.P.Stages[rank].Name)
	}
	return "Today one level down."
}

// rechecking reports whether something must be looked at again before the ankle is loaded.
func rechecking(s rehab.Screening) bool {
	return slices.ContainsFunc(s.Hits, func(r rehab.Rule) bool { return r.Recheck })
}

// likelyCourse is the course to show in an example: that of what is suspected.
func likelyCourse(s rehab.Screening) string {
	if slices.ContainsFunc(s.Hits, func(r rehab.Rule) bool { return r.Outcome == "high" }) {
		return "high"
	}
	return "lateral"
}

func outcomeKeys(hits []rehab.Rule) []string {
	var out []string
	for _, r := range hits {
		if !slices.Contains(out, r.Outcome) {
			out = append(out, r.Outcome)
		}
	}
	return out
}

// outcomeLine fills in an outcome's sentence.
func outcomeLine(o rehab.Outcome, s rehab.Screening) string {
	var why []string
	for _, r := range s.Hits {
		if r.Outcome == o.Key {
			why = append(why, r.Says)
		}
	}
	films := strings.Join(s.Series, " and ") + " films"
	says := o.Says
	if o.After != "" && s.Complete {
		says = o.After
	}
	return strings.NewReplacer("{why}", strings.Join(why, ", "), "{series}", films).Replace(says)
}

// typeMissing is the shortest line that answers what is missing, if all of it is normal. A phrase that
// answers several questions is offered only when all of them are open: with one bone tender, "tender
// none" would say that it is not.
func typeMissing(p *rehab.Protocol, qs []rehab.Question) string {
	whole, open := map[string]int{}, map[string]int{}
	for _, q := range p.Questions {
		whole[normal(q)]++
	}
	for _, q := range qs {
		open[normal(q)]++
	}
	var out []string
	for _, q := range qs {
		w := normal(q)
		if open[w] < whole[w] || len(q.Open) > 0 {
			w = deny(p, q)
		}
		if !slices.Contains(out, w) {
			out = append(out, w)
		}
	}
	return strings.Join(out, ", ")
}

// normal is what to type when a question's answer is the normal one.
func normal(q rehab.Question) string { return strings.Split(q.Type, ", or ")[0] }

// deny is a question's open findings, each denied by its own name.
func deny(p *rehab.Protocol, q rehab.Question) string {
	var out []string
	for _, key := range append(slices.Clone(q.Open), q.All...)[:max(len(q.Open), 1)] {
		f, _ := p.Finding(key)
		out = append(out, "no "+f.Yes[0])
	}
	return strings.Join(out, ", ")
}

// join puts the non-empty parts together.
func join(sep string, parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), sep)
}
