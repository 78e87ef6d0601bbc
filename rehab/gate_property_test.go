package rehab_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"footing/rehab"
)

// measuredIn draws a record in a stage with results of the tests its gate asks for, most of them good.
func measuredIn(t *rapid.T) (*chart, int) {
	stage := rapid.SampledFrom(course[:6]).Draw(t, "stage")
	c := sprain(t, adult)
	c.screen(after(0.5), negative)
	c.decide(after(1), rehab.Advance, "", stage)
	gate, _ := ankle.Gate(stage)
	days := rapid.IntRange(2, 4).Draw(t, "days")
	for n := 30; n < 30+days; n++ {
		c.log(at(n, 8), rehab.Responded{Pain: 1, Swelling: "same", Limp: rapid.IntRange(0, 9).Draw(t, "limp") == 0})
		for _, cr := range gate.Criteria {
			test, ok := ankle.Test(cr.Test)
			if !ok || len(test.Of) > 0 || rapid.IntRange(0, 3).Draw(t, "left out") == 0 {
				continue
			}
			for _, side := range map[string][]rehab.Side{"both": {rehab.Left, rehab.Right}, "injured": {rehab.Left}, "none": {rehab.None}}[test.Sides] {
				c.log(at(n, 12), outcome(t, test, side))
			}
		}
	}
	if rapid.Bool().Draw(t, "support") {
		c.log(at(30, 9), rehab.Supported{Support: "brace"})
	}
	return c, 30 + days
}

func outcome(t *rapid.T, test rehab.Test, side rehab.Side) rehab.Tested {
	b := rehab.Tested{Test: test.Key, Side: side}
	if len(test.Choices) > 0 {
		b.Choice = rapid.SampledFrom(test.Choices).Draw(t, "choice")
	} else {
		whole := int(test.Max-test.Min) / 4
		b.Trials = []rehab.Trial{{Value: test.Min + float64(whole*rapid.SampledFrom([]int{0, 2, 3, 4, 4}).Draw(t, "quarters"))}}
	}
	if test.WithPain {
		pain := rapid.IntRange(0, 4).Draw(t, "pain")
		b.Pain = &pain
	}
	return b
}

func open(gate []rehab.Result) bool {
	return !slices.ContainsFunc(gate, func(r rehab.Result) bool { return r.Status != rehab.Met })
}

// onlyMet reports whether a result feeds criteria, all of which it met.
func onlyMet(gate []rehab.Result, seq int64) bool {
	fed := slices.DeleteFunc(slices.Clone(gate), func(r rehab.Result) bool { return !slices.Contains(r.Seqs, seq) })
	return len(fed) > 0 && open(fed)
}

// A result of the injured side that met every criterion it feeds can be taken away, and no gate that was
// shut opens by that: good news only ever opens gates. What it is compared with stays.
func TestTakingAwayAGoodResultOpensNothing(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c, days := measuredIn(rt)
		now := at(days, 9)
		before := c.view(now).Gate
		var good []int
		for i, e := range c.entries {
			if b, ok := e.Body.(rehab.Tested); ok && b.Side != rehab.Right && onlyMet(before, e.Seq) {
				good = append(good, i)
			}
		}
		if len(good) == 0 {
			return
		}
		i := rapid.SampledFrom(good).Draw(rt, "taken away")
		b := c.entries[i].Body
		c.entries = slices.Delete(slices.Clone(c.entries), i, i+1)
		for _, r := range c.view(now).Gate {
			j := slices.IndexFunc(before, func(was rehab.Result) bool { return was.Criterion.Key == r.Criterion.Key })
			if r.Status == rehab.Met && (j < 0 || before[j].Status != rehab.Met) {
				rt.Fatalf("without %+v: %s was %+v, now %s (%s)", b, r.Criterion.Key, before, r.Status, r.Says)
			}
		}
	})
}

// However good the results are, the gate of an ankle that is held is not fully met.
func TestAHeldAnklesGateIsNeverFullyMet(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c, days := measuredIn(rt)
		flag := rapid.SampledFrom(redFlags).Draw(rt, "flag")
		c.log(at(rapid.IntRange(2, days).Draw(rt, "found on"), 7), rehab.Screened{Answers: []rehab.Answer{{Finding: flag, Yes: true}}})
		if v := c.view(at(days, 9)); v.Screening.Held(ankle) && (open(v.Gate) || len(v.Gate) == 0) {
			rt.Fatalf("held by %s, and yet the gate out of %s is open", flag, v.Stage.Key)
		}
	})
}

// A result of nothing, or none of the other side, never meets a comparison: there is nothing to divide by.
func TestNothingToCompareWithNeverMeets(t *testing.T) {
	for _, row := range []struct{ what, tests string }{
		{"the other side 0", "calf-raise R 0"},
		{"the other side never measured", ""},
		{"the other side failed", "calf-raise R x"},
		{"the other side not done", "calf-raise R not-done: sore"},
	} {
		c := sprain(t, adult)
		c.screen(after(0.5), negative)
		c.decide(after(1), rehab.Advance, "", "load")
		c.test(day(10), "calf-raise L 0")
		if row.tests != "" {
			c.test(day(10), row.tests)
		}
		for _, r := range c.view(day(10).Add(1)).Gate {
			if r.Criterion.Test == "calf-raise" && r.Status == rehab.Met {
				t.Errorf("%s: %s", row.what, r.Says)
			}
		}
	}
}
