package rehab_test

import (
	"strings"
	"testing"
	"time"

	"footing/rehab"
)

// A gateRow is one thing changed on a record that otherwise passes, and how one criterion stands then.
type gateRow struct {
	what      string
	criterion string
	change    func(c *chart)
	now       time.Time // zero: the evening of the day measured
	want      rehab.Status
	says      string // part of what the reader is told
	source    string
}

func tests(says ...string) func(*chart) {
	return func(c *chart) { c.test(day(1).Add(time.Hour), says...) }
}

func nothing(*chart) {}

// toLoad is a player on the first day with every criterion of Settle → Load exactly at its threshold.
func toLoad(t *testing.T) *chart {
	c := sprain(t, adult)
	c.screen(after(0.5), negative)
	c.log(day(1), rehab.Responded{Pain: 3, Swelling: "same"})
	c.test(day(1), "gait limp", "pain-walking 3", "balance L 10")
	return c
}

// toControl is the same for Load → Control, measured on day 1 after a step the day of the sprain.
func toControl(t *testing.T) *chart {
	c := sprain(t, adult)
	c.screen(after(0.5), negative)
	c.decide(after(1), rehab.Advance, "settle", "load")
	c.test(day(1), "gait normal", "pain-drills 3", "knee-to-wall L 9.5", "knee-to-wall R 12", "calf-raise L 21", "calf-raise R 30", "balance L 30")
	return c
}

func (r gateRow) check(t *testing.T, c *chart) {
	t.Helper()
	r.change(c)
	now := r.now
	if now.IsZero() {
		now = day(1).Add(10 * time.Hour)
	}
	v := c.view(now)
	for _, got := range v.Gate {
		if got.Criterion.Key == r.criterion {
			want(t, r.what, string(got.Status), string(r.want), r.source)
			if !strings.Contains(got.Says, r.says) {
				t.Errorf("%s\nsays %q\nwithout %q", r.what, got.Says, r.says)
			}
			return
		}
	}
	t.Errorf("%s: the gate out of %s has no criterion %q", r.what, v.Stage.Key, r.criterion)
}

func TestAtEveryThresholdTheGateIsOpen(t *testing.T) {
	for _, c := range []*chart{toLoad(t), toControl(t)} {
		v := c.view(day(1).Add(10 * time.Hour))
		if unmet, _ := v.Unmet(); len(unmet) > 0 || len(v.Gate) == 0 {
			t.Errorf("%s: of %d criteria not met: %+v", v.Stage.Key, len(v.Gate), unmet)
		}
	}
}

func TestSettleToLoad(t *testing.T) {
	screened := func(says ...string) func(*chart) {
		return func(c *chart) { c.screen(after(2), says...) }
	}
	morning := func(b rehab.Responded) func(*chart) {
		return func(c *chart) { c.log(day(1).Add(time.Minute), b) }
	}
	for _, r := range []gateRow{
		{"screen complete", "screen", nothing, time.Time{}, rehab.Met, "complete", practice},
		{"pregnant: complete but not reliable", "screen", screened("pregnant"), time.Time{}, rehab.Missing, "not reliable: pregnant", practice},
		{"screen complete and held: the hold is what is not met", "screen", screened("squeeze"), time.Time{}, rehab.Met, "complete", practice},
		{"not held", "hold", nothing, time.Time{}, rehab.Met, "not held", practice},
		{"held for squeeze pain", "hold", screened("squeeze"), time.Time{}, rehab.NotMet, "squeeze pain", practice},
		{"held, then lifted", "hold", func(c *chart) { c.screen(after(2), "squeeze"); c.lift(after(3), "high") }, time.Time{}, rehab.Met, "not held", practice},

		{"gait normal", "gait", tests("gait normal"), time.Time{}, rehab.Met, "normal", practice},
		{"limps without aids", "gait", tests("gait limp"), time.Time{}, rehab.Met, "limp", practice},
		{"walks with aids", "gait", tests("gait aids"), time.Time{}, rehab.NotMet, "aids, needs normal or limp", practice},
		{"gait not done, in the dark, after it was measured: the day's result stays", "gait", tests("gait not-done: dark"), time.Time{}, rehab.Met, "limp", practice},

		{"pain walking 3 of 10", "pain-walking", nothing, time.Time{}, rehab.Met, "3", practice},
		{"pain walking 4 of 10", "pain-walking", tests("pain-walking 4"), time.Time{}, rehab.NotMet, "needs at most 3 (1 over)", practice},
		{"pain walking 4, later that day 2: the last counts", "pain-walking", tests("pain-walking 4", "pain-walking 2"), time.Time{}, rehab.Met, "2", practice},
		{"pain walking 0", "pain-walking", tests("pain-walking 0"), time.Time{}, rehab.Met, "0", practice},

		{"balance 10 s", "balance", nothing, time.Time{}, rehab.Met, "10 s", practice},
		{"balance of the other leg is not the injured leg's", "balance", tests("balance R 60+"), time.Time{}, rehab.Met, "10 s", practice},
		{"balance 10, then 8: the day's best counts", "balance", tests("balance L 8"), time.Time{}, rehab.Met, "10 s", practice},

		{"morning pain 3, the first answer", "morning", nothing, time.Time{}, rehab.Met, "not worse", practice},
		{"swelling up this morning", "morning", morning(rehab.Responded{Pain: 1, Swelling: "more"}), time.Time{}, rehab.NotMet, "swelling up", practice},
		{"a limp this morning", "morning", morning(rehab.Responded{Pain: 1, Limp: true}), time.Time{}, rehab.NotMet, "limp", practice},
		{"pain 4 this morning, still in Settle: not too much by itself", "morning", morning(rehab.Responded{Pain: 4}), time.Time{}, rehab.Met, "not worse", practice},
		{"36 hours after the last answer it still counts", "morning", nothing, day(1).Add(36 * time.Hour), rehab.Met, "not worse", practice},
		{"the last answer is older than 36 hours: never fine", "morning", nothing, day(1).Add(36*time.Hour + time.Minute), rehab.Stale, "Sun 8 Mar", practice},
	} {
		t.Run(r.what, func(t *testing.T) { r.check(t, toLoad(t)) })
	}

	// Each criterion measured only here, so that missing and below the threshold can be seen.
	for _, r := range []gateRow{
		{"screen not done", "screen", nothing, time.Time{}, rehab.Missing, "not done", practice},
		{"squeeze left out of the screen", "screen", func(c *chart) {
			c.log(after(1), without(finds(c.t, negative), "squeeze"))
		}, time.Time{}, rehab.Missing, "squeeze not examined", practice},
		{"gait not measured", "gait", nothing, time.Time{}, rehab.Missing, "gait", practice},
		{"gait not done", "gait", tests("gait not-done: dark"), time.Time{}, rehab.Missing, "dark", practice},
		{"pain walking not asked", "pain-walking", nothing, time.Time{}, rehab.Missing, "pain-walking", practice},
		{"balance not measured", "balance", nothing, time.Time{}, rehab.Missing, "balance", practice},
		{"balance not done for safety", "balance", tests("balance L not-done: safety"), time.Time{}, rehab.Missing, "safety", practice},
		{"balance not comparable", "balance", tests("balance L not-comparable: brace on"), time.Time{}, rehab.Missing, "brace on", practice},
		{"only the other leg balanced", "balance", tests("balance R 40"), time.Time{}, rehab.Missing, "balance", practice},
		{"balance 9.9 s", "balance", tests("balance L 9.9"), time.Time{}, rehab.NotMet, "needs 10 (0.1 short)", practice},
		{"balance 4 s", "balance", tests("balance L 4"), time.Time{}, rehab.NotMet, "needs 10 (6 short)", practice},
		{"balance failed every time", "balance", tests("balance L x x"), time.Time{}, rehab.NotMet, "failed", practice},
		{"balance failed once, then 12 s", "balance", tests("balance L x 12"), time.Time{}, rehab.Met, "12 s", practice},
		{"balance measured before the sprain", "balance", func(c *chart) { c.test(after(-1), "balance L 60+") }, time.Time{}, rehab.Missing, "balance", practice},
		{"no morning answer: unknown, never fine", "morning", nothing, time.Time{}, rehab.Missing, "no morning answer", practice},
		{"answered at the moment of the sprain: the joint has not answered yet", "morning", func(c *chart) {
			c.log(injury, rehab.Responded{Pain: 1, Swelling: "same"})
		}, after(1), rehab.Missing, "since the day of the sprain", practice},
		{"answered on the evening of the sprain", "morning", func(c *chart) {
			c.log(after(5), rehab.Responded{Pain: 1, Swelling: "same"})
		}, day(1), rehab.Missing, "since the day of the sprain", practice},
		{"bad news of that evening counts", "morning", func(c *chart) {
			c.log(after(5), rehab.Responded{Pain: 1, Swelling: "more"})
		}, day(1), rehab.NotMet, "swelling up", practice},
	} {
		t.Run(r.what, func(t *testing.T) { r.check(t, sprain(t, adult)) })
	}
}

func TestLoadToControl(t *testing.T) {
	const hebert = "Hébert-Losier 2017 Physiotherapy 103:446 [V]"
	for _, r := range []gateRow{
		{"not held", "hold", nothing, time.Time{}, rehab.Met, "not held", practice},
		{"tender navicular found in Load", "hold", func(c *chart) { c.screen(day(1), "navicular") }, time.Time{}, rehab.NotMet, "navicular", ottawa},
		{"gait normal", "gait", nothing, time.Time{}, rehab.Met, "normal", practice},
		{"still limps", "gait", tests("gait limp"), time.Time{}, rehab.NotMet, "needs normal", practice},
		{"pain in drills 3", "pain-drills", nothing, time.Time{}, rehab.Met, "3", practice},
		{"pain in drills 4", "pain-drills", tests("pain-drills 4"), time.Time{}, rehab.NotMet, "1 over", practice},
		{"knee to wall 2.5 cm behind the other side", "knee-to-wall", nothing, time.Time{}, rehab.Met, "2.5 cm (vs other side)", practice},
		{"knee to wall 2.6 cm behind", "knee-to-wall", tests("knee-to-wall R 12.1"), time.Time{}, rehab.NotMet, "needs at most 2.5 (0.1 over)", practice},
		{"knee to wall ahead of the other side", "knee-to-wall", tests("knee-to-wall L 13"), time.Time{}, rehab.Met, "-1 cm", practice},
		{"calf raise 21 of 30, exactly 70 %", "calf-raise", nothing, time.Time{}, rehab.Met, "70 %", practice},
		{"balance 30 s", "balance", nothing, time.Time{}, rehab.Met, "30 s", practice},
	} {
		t.Run(r.what, func(t *testing.T) { r.check(t, toControl(t)) })
	}

	inLoad := func(t *testing.T) *chart {
		c := sprain(t, adult)
		c.screen(after(0.5), negative)
		c.decide(after(1), rehab.Advance, "settle", "load")
		return c
	}
	preseason := func(f func(*chart), says ...string) func(*chart) {
		return func(c *chart) {
			c.episode = 0
			c.test(day(-100), says...)
			c.episode = 1
			f(c)
		}
	}
	for _, r := range []gateRow{
		{"knee to wall not measured", "knee-to-wall", nothing, time.Time{}, rehab.Missing, "knee-to-wall", practice},
		{"knee to wall of the injured side only", "knee-to-wall", tests("knee-to-wall L 9"), time.Time{}, rehab.Missing, "other side", practice},
		{"knee to wall of the other side not done", "knee-to-wall", tests("knee-to-wall L 9", "knee-to-wall R not-done: cramp"), time.Time{}, rehab.Missing, "other side", practice},
		{"2 cm behind the own baseline, 4 behind the other side: the baseline decides", "knee-to-wall",
			preseason(tests("knee-to-wall L 9", "knee-to-wall R 13"), "knee-to-wall L 11"), time.Time{}, rehab.Met, "2 cm (vs own baseline)", practice},
		{"4 cm behind the own baseline, level with the other side", "knee-to-wall",
			preseason(tests("knee-to-wall L 9", "knee-to-wall R 9"), "knee-to-wall L 13"), time.Time{}, rehab.NotMet, "1.5 over", practice},
		{"calf raise not measured", "calf-raise", nothing, time.Time{}, rehab.Missing, "calf-raise", practice},
		{"calf raise 20 of 30, under 70 %", "calf-raise", tests("calf-raise L 20", "calf-raise R 30"), time.Time{}, rehab.NotMet, "needs 70 (3.3 short)", practice},
		{"calf raise 6 of 8: symmetry is met though weak", "calf-raise", tests("calf-raise L 6", "calf-raise R 8"), time.Time{}, rehab.Met, "75 %", practice},
		{"symmetry flatters: the floor is shown beside it", "calf-raise", tests("calf-raise L 6", "calf-raise R 8"), time.Time{}, rehab.Met, "24", hebert},
		{"calf raise 24, other side not measured: the floor stands in", "calf-raise", tests("calf-raise L 24"), time.Time{}, rehab.Met, "24 reps", hebert},
		{"calf raise 23, other side not measured", "calf-raise", tests("calf-raise L 23"), time.Time{}, rehab.Missing, "other side", hebert},
		{"calf raise 30+ on both sides is symmetry", "calf-raise", tests("calf-raise L 30+", "calf-raise R 30+"), time.Time{}, rehab.Met, "100 %", practice},
		{"calf raise 5, none on the other side", "calf-raise", tests("calf-raise L 5", "calf-raise R 0"), time.Time{}, rehab.Missing, "cannot be compared", practice},
		{"calf raise not done", "calf-raise", tests("calf-raise L not-done: kit", "calf-raise R 30"), time.Time{}, rehab.Missing, "kit", practice},
		{"calf raise failed", "calf-raise", tests("calf-raise L x", "calf-raise R 30"), time.Time{}, rehab.NotMet, "failed", practice},
		{"the other ankle was sprained too: flagged", "calf-raise", func(c *chart) {
			c.episode = 2
			c.log(day(-200), rehab.Sprained{Side: rehab.Right, Protocol: ankle.Hash})
			c.decide(day(-100), rehab.Advance, "sport", "returned")
			c.episode = 1
			tests("calf-raise L 24", "calf-raise R 24")(c)
		}, time.Time{}, rehab.Met, "sprained too", practice},
		{"balance 29.9 s", "balance", tests("balance L 29.9"), time.Time{}, rehab.NotMet, "needs 30 (0.1 short)", practice},
	} {
		t.Run(r.what, func(t *testing.T) {
			r.check(t, inLoad(t))
		})
	}
}

// A miss too small to print with one decimal is still a miss, and is not shown as nothing.
func TestASmallMissIsShown(t *testing.T) {
	c := sprain(t, adult)
	c.test(day(1), "balance L 9.96")
	for _, r := range c.view(day(1)).Gate {
		if r.Criterion.Key == "balance" && (r.Status != rehab.NotMet || strings.Contains(r.Says, "(0 short)")) {
			t.Errorf("balance 9.96 s of 10: %s, %s", r.Status, r.Says)
		}
	}
}
