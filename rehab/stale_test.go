package rehab_test

import (
	"testing"
	"time"

	"footing/rehab"
)

// Results are good for 14 days, and none outlives a set-back.
func TestStale(t *testing.T) {
	// back is a step back from Control to Load on day 8, after the tests of day 1.
	back := func(c *chart) {
		c.decide(day(7), rehab.Advance, "load", "control")
		c.decide(day(8), rehab.StepBack, "control", "load")
	}
	on := func(n int, hours time.Duration, says ...string) func(*chart) {
		return func(c *chart) { c.test(day(n).Add(hours*time.Hour), says...) }
	}
	backThen := func(f func(*chart)) func(*chart) {
		return func(c *chart) { back(c); f(c) }
	}
	for _, r := range []gateRow{
		{"gait of 14 days ago", "gait", nothing, day(15), rehab.Met, "normal", practice},
		{"gait of 15 days ago", "gait", nothing, day(16), rehab.Stale, "15 days old", practice},
		{"balance of 14 days ago, to the end of that day", "balance", nothing, day(15).Add(14 * time.Hour), rehab.Met, "30 s", practice},
		{"balance of 15 days ago", "balance", nothing, day(16), rehab.Stale, "15 days old", practice},
		{"knee to wall of 15 days ago", "knee-to-wall", nothing, day(16), rehab.Stale, "15 days old", practice},
		{"calf raise of 15 days ago", "calf-raise", nothing, day(16), rehab.Stale, "15 days old", practice},
		{"pain in drills of 15 days ago", "pain-drills", nothing, day(16), rehab.Stale, "15 days old", practice},
		{"15 days old, measured again today", "balance", on(16, 0, "balance L 31"), day(16).Add(time.Hour), rehab.Met, "31 s", practice},
		{"15 days old, not done today: missing", "balance", on(16, 0, "balance L not-done: safety"), day(16).Add(time.Hour), rehab.Missing, "safety", practice},
		{"not good enough and 15 days old: stale, not a failure", "balance", on(2, 0, "balance L 5"), day(17), rehab.Stale, "15 days old", practice},
		{"injured side today, the other side 20 days ago", "knee-to-wall", on(21, 0, "knee-to-wall L 11"), day(21).Add(time.Hour), rehab.Stale, "other side", practice},

		{"balance from before the step back", "balance", back, day(8).Add(time.Hour), rehab.Stale, "before the set-back", practice},
		{"gait from before the step back", "gait", back, day(8).Add(time.Hour), rehab.Stale, "before the set-back", practice},
		{"calf raise from before the step back", "calf-raise", back, day(8).Add(time.Hour), rehab.Stale, "before the set-back", practice},
		{"measured again after it", "balance", backThen(on(9, 0, "balance L 32")), day(9).Add(time.Hour), rehab.Met, "32 s", practice},
		{"measured the same day, before it", "balance", backThen(on(8, -1, "balance L 32")), day(8).Add(time.Hour), rehab.Stale, "before the set-back", practice},
		{"40 s before it and 12 s after it on one day: only the 12 count", "balance",
			func(c *chart) { on(8, -2, "balance L 40")(c); back(c); on(8, 1, "balance L 12")(c) }, day(8).Add(2 * time.Hour), rehab.NotMet, "balance 12 s", practice},
		{"the other side was measured before it, the injured side after", "knee-to-wall",
			backThen(on(9, 0, "knee-to-wall L 11")), day(9).Add(time.Hour), rehab.Stale, "other side", practice},
	} {
		t.Run(r.what, func(t *testing.T) { r.check(t, toControl(t)) })
	}
}

// After a new sprain nothing measured before it counts, not even that morning.
func TestStaleAfterANewSprain(t *testing.T) {
	c := toLoad(t)
	c.test(day(2), "balance L 60+", "gait normal", "pain-walking 0")
	c.log(day(2).Add(time.Hour), rehab.Sprained{Side: rehab.Left, Again: true})
	for _, key := range []string{"gait", "pain-walking", "balance"} {
		gateRow{key + " from the morning of the new sprain", key, nothing, day(2).Add(2 * time.Hour), rehab.Stale, "before the set-back", practice}.check(t, c)
	}
	gateRow{"the morning answer too", "morning", nothing, day(2).Add(2 * time.Hour), rehab.Missing, "since the sprain", practice}.check(t, c)
	c.test(day(2).Add(3*time.Hour), "balance L 2", "pain-walking 7", "gait aids")
	for key, says := range map[string]string{"balance": "balance 2 s", "pain-walking": "7", "gait": "aids"} {
		gateRow{key + " after the new sprain, the same day", key, nothing, day(2).Add(4 * time.Hour), rehab.NotMet, says, practice}.check(t, c)
	}
}
