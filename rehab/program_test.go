package rehab_test

import (
	"testing"

	"footing/rehab"
)

// A difference within the error of its test is none: 1.0 cm to the wall is the MDC of an injured leg
// (Chisholm 2012 Physiother Can 64:347 [V]), 6.5 raises are the test-retest limits (Hébert-Losier 2017
// Physiotherapy 103:446 [V]).
func TestNothingFallsShortWithinTheErrorOfItsTest(t *testing.T) {
	for _, r := range []struct {
		what, injured, other string
		quality, short       string
	}{
		{"1 cm", "knee-to-wall L 11", "knee-to-wall R 12", "mobility", ""},
		{"1.1 cm", "knee-to-wall L 10.9", "knee-to-wall R 12", "mobility", "knee-to-wall"},
		{"6 raises", "calf-raise L 20", "calf-raise R 26", "strength", ""},
		{"7 raises", "calf-raise L 19", "calf-raise R 26", "strength", "calf-raise"},
		{"no error is published: every second counts", "balance L 40", "balance R 45", "static balance", "balance"},
	} {
		c := sprain(t, adult)
		c.test(day(2), r.injured, r.other)
		a := c.assess(day(2))
		want(t, r.what, rehab.Shortfalls(a.State, a.Views[0], day(2))[r.quality].Test, r.short, "see above")
	}
}

// The second look is once the swelling no longer hides what is torn, from the day before day 5 on
// (Vuurberg 2018 BJSM 52:956 [V]); a new sprain counts from its own day (common practice).
func TestWhenToExamineAgain(t *testing.T) {
	on := func(c *chart, n int) string {
		at := c.view(day(n)).Reexamine
		if at.IsZero() {
			return ""
		}
		return at.Format("2 Jan")
	}
	c := sprain(t, adult)
	c.screen(after(0.5), negative)
	want(t, "day 0, 7 March", on(c, 0), "12 Mar", practice)
	want(t, "day 5: it has come", on(c, 5), "", practice)
	c.screen(day(4), negative)
	want(t, "examined on day 4: it was done", on(c, 4), "", practice)
	c.log(day(9), rehab.Sprained{Side: rehab.Left, Again: true, Protocol: ankle.Hash})
	c.screen(day(9), negative)
	want(t, "sprained again on day 9, 16 March", on(c, 9), "21 Mar", practice)
}
