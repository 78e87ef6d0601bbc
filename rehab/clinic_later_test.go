package rehab_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"footing/rehab"
)

// Days without a stage gained are counted from the last one gained; told to stay gains none.
func TestNoStageGained(t *testing.T) {
	c := calm(t).well(through(5, 30)...)
	c.screen(day(5), "ligament atfl")
	says := func(n int) string { return worries(t, c, day(n).Add(2*time.Hour)) }
	for n, review := range map[int]bool{13: false, 14: true, 20: true} {
		if got := says(n); strings.Contains(got, "in Settle: review") != review {
			t.Errorf("day %d in Settle: %q, review wanted %t (%s)", n, got, review, practice)
		}
	}
	c.decide(day(15), rehab.Stay, "settle", "settle")
	if got := says(16); !strings.Contains(got, "16 days in Settle: review") {
		t.Errorf("told to stay on day 15: %q (%s)", got, practice)
	}
	c.decide(day(16).Add(3*time.Hour), rehab.Advance, "settle", "load")
	for n, review := range map[int]bool{17: false, 29: false, 30: true} {
		if got := says(n); strings.Contains(got, "14 days in Load: review") != review {
			t.Errorf("day %d, in Load since 16: %q, review wanted %t (%s)", n, got, review, practice)
		}
	}
}

// Painful or giving way at 6 weeks: refer.
func TestSixWeeks(t *testing.T) {
	pain := func(p int) func(c *chart, n int) {
		return func(c *chart, n int) { c.log(day(n), rehab.Responded{Pain: p}) }
	}
	gave := func(c *chart, n int) {
		c.log(day(n), rehab.Responded{Alarms: []string{"gave-way"}})
		c.screen(day(n).Add(time.Hour), negative)
		c.lift(day(n).Add(time.Hour), "lateral")
	}
	for _, r := range []struct {
		what string
		log  func(c *chart, n int)
		day  int
		want string
	}{
		{"painful on day 41", pain(1), 41, ""},
		{"painful on day 42", pain(1), 42, "painful at 6 weeks: refer"},
		{"no pain on day 42", pain(0), 42, ""},
		{"painful on day 56", pain(3), 56, "painful at 8 weeks: refer"},
		{"gave way on day 42, the hold lifted", gave, 42, "giving way at 6 weeks: refer"},
		{"gave way on day 41, the hold lifted", gave, 41, ""},
	} {
		c := sprain(t, adult)
		climb(c, "control")
		r.log(c, r.day)
		got := worries(t, c, day(r.day).Add(2*time.Hour))
		if strings.Contains(got, "weeks: refer") != (r.want != "") || !strings.Contains(got, r.want) {
			t.Errorf("%s: %q, want %q (%s)", r.what, got, r.want, practice)
		}
	}
}

// Two worse mornings running stay on the list while nobody answers; then the silence is the reason.
func TestNotSettlingIsNotForgottenInSilence(t *testing.T) {
	c := calm(t)
	c.screen(day(4), "ligament atfl")
	c.log(day(3).Add(time.Minute), rehab.Responded{Pain: 3})
	c.log(day(4).Add(time.Minute), rehab.Responded{Pain: 5})
	for n, says := range map[int]string{4: "not settling", 5: "not settling", 6: "not settling", 7: "3 mornings not answered", 8: "4 mornings not answered"} {
		if got := worries(t, c, day(n).Add(2*time.Hour)); strings.Count(got, "not settling")+strings.Count(got, "mornings not answered") != 1 || !strings.Contains(got, says) {
			t.Errorf("day %d: %q, want %q once (%s)", n, got, says, practice)
		}
	}
	c = calm(t)
	c.log(day(2).Add(time.Minute), rehab.Responded{Pain: 3})
	c.log(day(4).Add(time.Minute), rehab.Responded{Pain: 3})
	if got := worries(t, c, day(4).Add(2*time.Hour)); strings.Contains(got, "not settling") {
		t.Errorf("worse twice, a good morning between: %q (%s)", got, practice)
	}
	c.entries = slices.DeleteFunc(c.entries, func(e rehab.Entry) bool { _, ok := e.Body.(rehab.Responded); return ok && e.At.Day() == day(3).Day() })
	if got := worries(t, c, day(4).Add(2*time.Hour)); strings.Contains(got, "not settling") {
		t.Errorf("worse twice, the morning between not answered: %q (%s)", got, practice)
	}
}

// A decision whose evidence was corrected stands, and is flagged; one whose evidence stands is not.
func TestChangedEvidence(t *testing.T) {
	decided := func(c *chart, stage string, action rehab.Action) (balance int64) {
		for _, e := range c.entries {
			if b, ok := e.Body.(rehab.Tested); ok && strings.HasPrefix(b.Test, "balance") {
				balance = e.Seq
			}
		}
		v := c.view(evening)
		c.log(evening, rehab.Decided{Action: action, From: stage, To: v.Next.Key, Evidence: v.Evidence()})
		return balance
	}
	slip := rehab.Tested{Test: "balance-closed", Side: rehab.Left, Trials: []rehab.Trial{{Value: 3}}}
	for _, r := range []struct {
		stage string
		flag  string
		do    rehab.Action
	}{
		{"control", "advance of Tue 7 Apr rests on balance-closed, changed since", rehab.Advance},
		{"sport", "return of Tue 7 Apr rests on balance-closed, changed since", rehab.Return},
	} {
		c := ready(t, r.stage, "")
		seq := decided(c, r.stage, r.do)
		now := evening.Add(3 * time.Hour)
		if got := worries(t, c, now); strings.Contains(got, "changed since") {
			t.Errorf("%s: flagged though nothing changed: %q", r.do, got)
		}
		stage := c.view(now).Stage.Key
		c.edit(seq, evening.Add(time.Hour), slip)
		if got := worries(t, c, now); strings.Count(got, r.flag) != 1 {
			t.Errorf("%s, a value edited since: %q, want %q once (%s)", r.do, got, r.flag, practice)
		}
		want(t, "the decision stands", c.view(now).Stage.Key, stage, practice)

		c = ready(t, r.stage, "")
		seq = decided(c, r.stage, r.do)
		c.entries = slices.DeleteFunc(c.entries, func(e rehab.Entry) bool { return e.Seq == seq })
		if got := worries(t, c, now); strings.Count(got, r.flag) != 1 {
			t.Errorf("%s, a value undone since: %q, want %q once (%s)", r.do, got, r.flag, practice)
		}

		c = ready(t, r.stage, "")
		last := c.entries[len(c.entries)-1].Seq
		for _, e := range c.entries {
			if b, ok := e.Body.(rehab.Tested); ok && b.Test == "balance-closed" {
				last = e.Seq
			}
		}
		c.edit(last, day(31), rehab.Tested{Test: "balance-closed", Side: rehab.Left, Trials: []rehab.Trial{{Value: 16}}})
		decided(c, r.stage, r.do)
		if got := worries(t, c, now); strings.Contains(got, "changed since") {
			t.Errorf("%s: edited before the decision, and flagged: %q", r.do, got)
		}
	}
}

// With both ankles under treatment each reason names its side.
func TestBothAnklesOnTheClinicList(t *testing.T) {
	c := sprain(t, adult)
	c.episode = 2
	c.log(after(-1), rehab.Sprained{Side: rehab.Right, Protocol: ankle.Hash})
	want(t, "neither screened", worries(t, c, after(1)), "held: L screen not done; held: R screen not done", practice)
	c.screen(after(0.5), negative, "squeeze")
	want(t, "the right one held", worries(t, c, after(1)), "held: L screen not done; held: R held: squeeze pain", practice)
	c.log(day(1), rehab.Responded{Pain: 1, Alarms: []string{"numb"}})
	want(t, "the most urgent first, whichever side", worries(t, c, day(1)), "now: R numb or cold; held: L screen not done; held: R held: squeeze pain", practice)
}

// The list goes by urgency: an alarm, then holds, then what today decides, then what is overdue.
func TestTheOrderOfTheClinicList(t *testing.T) {
	c := calm(t)
	c.screen(day(1).Add(time.Minute), "navicular")
	c.log(day(7), rehab.Responded{Pain: 5, Swelling: "more", Alarms: []string{"locked"}})
	got := worries(t, c, day(8))
	want(t, "everything at once", got, "now: locked; held: held: tender navicular; today: day-5 examination; today: worse on Sat, not answered since: pain 5, 4 above the week's lowest, swelling up, locked", practice)
	c = calm(t)
	want(t, "ten days alone", worries(t, c, day(18)), "today: day-5 examination; today: 14 mornings not answered; today: 18 days in Settle: review; week: measure gait, pain-walking, balance; week: no drills for 14 days", practice)
}

// Girth beyond its MDC of 0.83 cm above the last value is more swelling; less than that is error.
func TestGirthUpIsOnTheClinicList(t *testing.T) {
	for _, r := range []struct {
		what, now string
		want      string
	}{
		{"up by 1.5 cm", "girth L 53.5", "week: girth up 1.5 cm since Sun 8 Mar: more swelling"},
		{"up by less than the error", "girth L 52.8", ""},
		{"down", "girth L 50", ""},
		{"the other ankle", "girth R 56", ""},
	} {
		c := calm(t)
		c.test(day(1), "girth L 52")
		c.test(day(3), r.now)
		want(t, r.what, worries(t, c, day(4).Add(2*time.Hour)), r.want, "figure of eight, MDC 0.83 cm as in the protocol file")
	}
}
