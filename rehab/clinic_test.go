package rehab_test

import (
	"cmp"
	"slices"
	"strings"
	"testing"
	"time"

	"footing/rehab"
)

// worries lists why a player is to be seen, most urgent first, and checks that nothing is said twice
// or out of order.
func worries(t *testing.T, c *chart, now time.Time) string {
	t.Helper()
	marks := map[rehab.Urgency]string{rehab.Now: "now", rehab.Held: "held", rehab.Today: "today", rehab.ThisWeek: "week"}
	list := rehab.Concerns(c.assess(now), now)
	var out []string
	for _, x := range list {
		if x.Says == "" || slices.Contains(out, marks[x.Urgency]+": "+x.Says) {
			t.Errorf("nothing said, or said twice: %q in %v", x.Says, list)
		}
		out = append(out, marks[x.Urgency]+": "+x.Says)
	}
	if !slices.IsSortedFunc(list, func(x, y rehab.Concern) int { return cmp.Compare(x.Urgency, y.Urgency) }) {
		t.Errorf("not by urgency: %v", list)
	}
	return strings.Join(out, "; ")
}

// calm is a player in Settle about whom there is nothing to say on days 1 to 4: screened, measured and
// not good enough, drills done and mornings answered.
func calm(t *testing.T) *chart {
	c := sprain(t, adult)
	c.screen(after(0.5), negative)
	c.test(day(1), "gait limp", "pain-walking 3", "balance L 5")
	c.well(1, 2, 3, 4)
	return c
}

// well answers the mornings of some days with pain 1 and does the drills.
func (c *chart) well(days ...int) *chart {
	for _, n := range days {
		c.log(day(n), rehab.Responded{Pain: 1, Swelling: "same"})
		c.log(day(n).Add(time.Hour), rehab.Trained{Did: "all"})
	}
	return c
}

func through(from, to int) (out []int) {
	for n := from; n <= to; n++ {
		out = append(out, n)
	}
	return out
}

func TestNobodyIsListedWithoutAReason(t *testing.T) {
	want(t, "no injury", worries(t, &chart{t: t}, day(1)), "", practice)
	for n := 1; n <= 4; n++ {
		want(t, "well, on the way", worries(t, calm(t), day(n).Add(2*time.Hour)), "", practice)
	}
	c := sprain(t, adult)
	climb(c, "returned")
	c.test(day(93), "stability L 28")
	want(t, "back in matches, followed up at three months", worries(t, c, day(100)), "", practice)
	c = sprain(t, adult)
	c.screen(after(0.5), negative)
	climb(c, "returned")
	c.episode = 2
	c.log(day(93), rehab.Sprained{Side: rehab.Left, Protocol: ankle.Hash})
	c.screen(day(93), negative)
	if got := worries(t, c, day(93)); strings.Contains(got, "follow-up") {
		t.Errorf("under treatment again, it is followed up too: %s", got)
	}
	c = played(t)
	c.log(after(4), rehab.PlayedOn{After: true})
	want(t, "played on, good the morning after", worries(t, c.well(1), day(4)), "", practice)
}

func TestEachReasonToBeSeen(t *testing.T) {
	for _, r := range []struct {
		what string
		log  func(c *chart)
		now  time.Time
		want string
	}{
		{"numb this morning: told once, first", func(c *chart) { c.log(day(2).Add(time.Hour), rehab.Responded{Pain: 1, Alarms: []string{"numb"}}) }, day(2).Add(2 * time.Hour), "now: numb or cold"},
		{"two alarms and more pain", func(c *chart) {
			c.log(day(2).Add(time.Hour), rehab.Responded{Pain: 5, Alarms: []string{"locked", "calf"}})
		}, day(2).Add(2 * time.Hour), "now: locked, calf pain or swelling; today: worse: pain 5, 4 above yesterday, locked, calf"},
		{"numb, seen, and the hold lifted: no longer an alarm", func(c *chart) {
			c.log(day(2).Add(time.Hour), rehab.Responded{Pain: 1, Alarms: []string{"numb"}})
			c.lift(day(2).Add(2*time.Hour), "lateral")
		}, day(2).Add(3 * time.Hour), "today: worse: numb"},
		{"gave way", func(c *chart) {
			c.log(day(2).Add(time.Hour), rehab.Responded{Pain: 1, Alarms: []string{"gave-way"}})
		}, day(2).Add(2 * time.Hour), "now: gave way"},
		{"a red flag", func(c *chart) { c.screen(day(2), "navicular") }, day(2).Add(2 * time.Hour), "held: held: tender navicular"},
		{"not reliable", func(c *chart) { c.screen(day(2), "pregnant") }, day(2).Add(2 * time.Hour), "held: screen not reliable: pregnant"},
		{"cannot walk any more", func(c *chart) { c.screen(day(1), "cannot-walk") }, day(2).Add(2 * time.Hour), "today: walked then, not now: deteriorating. Recheck within 24 h, protected walking"},

		{"day 5 comes", func(c *chart) { c.well(5) }, day(5).Add(2 * time.Hour), "today: day-5 examination"},
		{"examined on day 4: done", func(c *chart) { c.screen(day(4), "ligament atfl"); c.well(5) }, day(5).Add(2 * time.Hour), ""},
		{"examined on day 3: too early", func(c *chart) { c.screen(day(3), "ligament atfl"); c.well(5) }, day(5).Add(2 * time.Hour), "today: day-5 examination"},
		{"examined on day 6, late", func(c *chart) { c.screen(day(6), "ligament atfl"); c.well(5, 6) }, day(6).Add(2 * time.Hour), ""},
		{"sprained again on day 2, examined then: its own day 5", func(c *chart) {
			c.log(day(2).Add(2*time.Hour), rehab.Sprained{Side: rehab.Left, Again: true})
			c.screen(day(2).Add(3*time.Hour), negative)
			c.lift(day(2).Add(4*time.Hour), "lateral")
			c.screen(day(5), "ligament atfl")
			c.test(day(5), "gait limp", "pain-walking 3", "balance L 5")
			c.well(3, 4, 5, 6, 7)
		}, day(7).Add(2 * time.Hour), "today: day-5 examination"},

		{"sprained again on day 2: not yet due on day 6", func(c *chart) {
			c.log(day(2).Add(2*time.Hour), rehab.Sprained{Side: rehab.Left, Again: true})
			c.screen(day(2).Add(3*time.Hour), negative)
			c.lift(day(2).Add(4*time.Hour), "lateral")
			c.test(day(5), "gait limp", "pain-walking 3", "balance L 5")
			c.well(5, 6)
		}, day(6).Add(2 * time.Hour), ""},

		{"worse this morning", func(c *chart) { c.log(day(4).Add(time.Minute), rehab.Responded{Pain: 3}) }, day(4).Add(2 * time.Hour), "today: worse: pain 3, 2 above yesterday"},
		{"worse, then well", func(c *chart) { c.log(day(3).Add(time.Minute), rehab.Responded{Pain: 3}) }, day(4).Add(2 * time.Hour), ""},
		{"worse twice running", func(c *chart) {
			c.log(day(3).Add(time.Minute), rehab.Responded{Pain: 3})
			c.log(day(4).Add(time.Minute), rehab.Responded{Pain: 5})
		}, day(4).Add(2 * time.Hour), "today: not settling: worse twice running (pain 5, 2 above yesterday); step back?"},
		{"nobody answered for three mornings", func(c *chart) { c.screen(day(4), "ligament atfl"); c.log(day(6), rehab.Trained{Did: "all"}) }, day(7), "today: 3 mornings not answered"},
		{"for two", func(c *chart) { c.screen(day(4), "ligament atfl"); c.log(day(5), rehab.Trained{Did: "all"}) }, day(6), "week: ask how the ankle was this morning"},
		{"staff answered for them", func(c *chart) {
			c.screen(day(4), "ligament atfl")
			c.log(day(6), rehab.Trained{Did: "some"})
			c.log(day(6), rehab.Responded{Pain: 1, ByStaff: true})
		}, day(7), ""},

		{"every criterion met: a decision waits", func(c *chart) { c.test(day(4), "balance L 10") }, day(4).Add(2 * time.Hour), "today: ready for Load: decide"},
		{"balance was never measured", func(c *chart) { c.entries = slices.DeleteFunc(c.entries, balance) }, day(4).Add(2 * time.Hour), "week: measure balance"},
		{"no drills for two days", func(c *chart) { c.entries = slices.DeleteFunc(c.entries, trainedFrom(day(3))) }, day(4).Add(2 * time.Hour), "week: no drills for 2 days"},
		{"sessions without a drill done are none", func(c *chart) {
			c.entries = slices.DeleteFunc(c.entries, trainedFrom(day(3)))
			c.log(day(4), rehab.Trained{Did: "none", Why: "sore"})
		}, day(4).Add(2 * time.Hour), "week: no drills for 2 days"},
	} {
		t.Run(r.what, func(t *testing.T) {
			c := calm(t)
			r.log(c)
			c.entries = slices.DeleteFunc(c.entries, func(e rehab.Entry) bool { return e.At.After(r.now) })
			want(t, r.what, worries(t, c, r.now), r.want, practice)
		})
	}
}

func balance(e rehab.Entry) bool {
	b, ok := e.Body.(rehab.Tested)
	return ok && b.Test == "balance"
}

func trainedFrom(at time.Time) func(rehab.Entry) bool {
	return func(e rehab.Entry) bool {
		_, ok := e.Body.(rehab.Trained)
		return ok && e.At.After(at)
	}
}
