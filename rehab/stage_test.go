package rehab_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"footing/rehab"
)

var course = []string{"settle", "load", "control", "impact", "land", "sport", "returned"}

// climb takes a cleared player to a stage, one decision an hour from day 1.
func climb(c *chart, to string) {
	c.screen(after(0.5), negative)
	for i := 0; course[i] != to; i++ {
		c.decide(day(1).Add(time.Duration(i)*time.Hour), rehab.Advance, course[i], course[i+1])
	}
}

// What coaches are told by default in each stage.
func TestAvailabilityPerStage(t *testing.T) {
	for _, r := range []struct {
		stage       string
		level       rehab.Level
		can, cannot string
	}{
		{"settle", rehab.Unavailable, "", "team training"},
		{"load", rehab.Unavailable, "own programme only", "team training"},
		{"control", rehab.Modified, "standing skills", "run, jump, contact"},
		{"impact", rehab.Modified, "jog straight, when medical staff say so that day", "cut, jumping drills, contact"},
		{"land", rehab.Modified, "run, planned turns", "contact, live play"},
		{"sport", rehab.Modified, "train fully", "matches"},
		{"returned", rehab.Full, "", ""},
	} {
		c := sprain(t, adult)
		climb(c, r.stage)
		a := c.assess(day(2))
		want(t, r.stage, string(a.Level)+", can "+strings.Join(a.Can, ", ")+", cannot "+strings.Join(a.Cannot, ", "),
			string(r.level)+", can "+r.can+", cannot "+r.cannot, practice)
		if open := r.stage != "returned"; a.Views[0].Open != open {
			t.Errorf("%s: under treatment %t", r.stage, a.Views[0].Open)
		}
	}
	c := sprain(t, adult)
	if none := rehab.Assess(rehab.Fold(c.athlete, nil), rehab.Setting{Now: day(1)}); none.Level != rehab.Full || none.Out != 0 {
		t.Errorf("a player without an injury is %s, %d days out", none.Level, none.Out)
	}
}

func TestTheStageFollowsTheDecisions(t *testing.T) {
	for _, r := range []struct {
		what string
		log  func(c *chart)
		want string
	}{
		{"nothing decided", nothing, "settle since 7 Mar"},
		{"advanced once", func(c *chart) { c.decide(day(2), rehab.Advance, "settle", "load") }, "load since 9 Mar"},
		{"advanced, then told to stay: since the advance", func(c *chart) {
			c.decide(day(2), rehab.Advance, "settle", "load")
			c.decide(day(4), rehab.Stay, "load", "load")
		}, "load since 9 Mar"},
		{"advanced twice in one sitting", func(c *chart) {
			c.decide(day(2), rehab.Advance, "settle", "load")
			c.decide(day(2), rehab.Advance, "load", "control")
		}, "control since 9 Mar"},
		{"stepped back one stage", func(c *chart) {
			c.decide(day(2), rehab.Advance, "settle", "load")
			c.decide(day(3), rehab.Advance, "load", "control")
			c.decide(day(5), rehab.StepBack, "control", "load")
		}, "load since 12 Mar"},
		{"stepped back to the first stage", func(c *chart) {
			c.decide(day(2), rehab.Advance, "settle", "load")
			c.decide(day(5), rehab.StepBack, "load", "settle")
		}, "settle since 12 Mar"},
		{"advanced, and a hold comes: the stage stays, the decision stands", func(c *chart) {
			c.decide(day(2), rehab.Advance, "settle", "load")
			c.screen(day(3), "navicular")
		}, "load since 9 Mar"},
		{"advanced, and the evidence is edited afterwards: the decision stands", func(c *chart) {
			c.test(day(1), "balance L 30")
			seq := c.seq
			c.decide(day(2), rehab.Advance, "settle", "load")
			c.edit(seq, day(3), rehab.Tested{Test: "balance", Side: rehab.Left, Trials: []rehab.Trial{{Value: 3}}})
		}, "load since 9 Mar"},
	} {
		t.Run(r.what, func(t *testing.T) {
			c := sprain(t, adult)
			c.screen(after(0.5), negative)
			r.log(c)
			v := c.view(day(6))
			want(t, r.what, v.Stage.Key+" since "+v.Since.Format("2 Jan"), r.want, practice)
		})
	}
}

// A hold, or a screen that does not clear, leaves nothing of what the stage allows.
func TestNotClearedIsUnavailableInAnyStage(t *testing.T) {
	for _, stage := range course[1:6] {
		for what, says := range map[string]string{"held": "navicular", "not reliable": "pregnant"} {
			c := sprain(t, adult)
			climb(c, stage)
			c.screen(day(2), says)
			a := c.assess(day(2).Add(time.Minute))
			want(t, what+" in "+stage, string(a.Level)+", can "+strings.Join(a.Can, ", "), "unavailable, can ", practice)
		}
	}
}

// Days lost: neither the day of the sprain nor today's return counts, so the morning after is day 1.
func TestDaysOut(t *testing.T) {
	const ioc = "IOC consensus, Bahr 2020 BJSM 54:372 [V]"
	auckland, err := time.LoadLocation("Pacific/Auckland")
	if err != nil {
		t.Fatal(err)
	}
	lateNight := time.Date(2026, 3, 7, 23, 30, 0, 0, auckland)
	for _, r := range []struct {
		what         string
		sprained, at time.Time
		out          int
	}{
		{"the day itself", injury, injury.Add(2 * time.Hour), 0},
		{"the morning after", injury, day(1), 1},
		{"a minute after midnight", injury, time.Date(2026, 3, 8, 0, 1, 0, 0, time.UTC), 1},
		{"injured Monday, still out on Sunday: return next Monday would be 6", day(2), day(8), 6},
		{"sprained 23:30 in Auckland, the report at 07:30", lateNight, time.Date(2026, 3, 8, 7, 30, 0, 0, auckland), 1},
		{"the same, still before midnight there", lateNight, lateNight.Add(20 * time.Minute), 0},
		{"across the end of summer time in Auckland", time.Date(2026, 4, 4, 15, 0, 0, 0, auckland), time.Date(2026, 4, 6, 7, 0, 0, 0, auckland), 2},
	} {
		c := &chart{t: t, episode: 1}
		c.log(r.sprained.UTC(), rehab.Sprained{Side: rehab.Left})
		if a := c.assess(r.at); a.Out != r.out {
			t.Errorf("%s: %d days out, want %d (%s)", r.what, a.Out, r.out, ioc)
		}
	}
}

// Of two ankles under treatment the tighter one is what coaches are told.
func TestTwoAnkles(t *testing.T) {
	for _, r := range []struct {
		what, left, right, rightSays string
		level                        rehab.Level
		can                          []string
	}{
		{"left in Land, right in Settle", "land", "settle", "", rehab.Unavailable, nil},
		{"left in Settle, right in Land", "settle", "land", "", rehab.Unavailable, nil},
		{"left in Land, right in Control: the earlier allows less", "land", "control", "", rehab.Modified, []string{"standing skills"}},
		{"left in Control, right in Land", "control", "land", "", rehab.Modified, []string{"standing skills"}},
		{"left back in matches, right in Sport", "returned", "sport", "", rehab.Modified, []string{"train fully"}},
		{"both back in matches", "returned", "returned", "", rehab.Full, nil},
		{"left in Land, right in Sport and held", "land", "sport", "navicular", rehab.Unavailable, nil},
		{"left in Load, right in Control and held: no own programme either", "load", "control", "navicular", rehab.Unavailable, nil},
		{"left in Load, right in Sport and not reliable", "load", "sport", "pregnant", rehab.Unavailable, nil},
	} {
		t.Run(r.what, func(t *testing.T) {
			c := sprain(t, adult)
			climb(c, r.left)
			c.episode = 2
			c.log(after(-100), rehab.Sprained{Side: rehab.Right, Protocol: ankle.Hash})
			climb(c, r.right)
			c.screen(day(2), r.rightSays)
			a := c.assess(day(3))
			if a.Level != r.level || !slices.Equal(a.Can, r.can) {
				t.Errorf("%s, can %v; want %s, can %v (%s)", a.Level, a.Can, r.level, r.can, practice)
			}
			if out := 3 + 4*map[bool]int{true: 1}[r.right != "returned"]; r.level != rehab.Full && a.Out != out {
				t.Errorf("%d days out, want %d: the longer of those under treatment", a.Out, out)
			}
		})
	}
}

// What is found in a late stage and is graver than it was treated for begins anew: protected, from the first stage.
// Films that show nothing graver, and a hold on the course it was on already, change no stage.
func TestAGraverCourseBeginsAnew(t *testing.T) {
	for _, r := range []struct{ was, found, onto, want string }{
		{"lateral", "squeeze", "high", "settle"},
		{"lateral", "squeeze", "medial", "settle"},
		{"lateral", "squeeze", "lateral", "land"},
		{"high", "navicular", "high", "land"},
		{"high", "navicular", "lateral", "land"},
	} {
		c := sprain(t, adult)
		c.screen(after(0.5), negative, "out-of-proportion")
		c.lift(after(0.6), r.was)
		for i := 0; course[i] != "land"; i++ {
			c.decide(day(1).Add(time.Duration(i)*time.Hour), rehab.Advance, course[i], course[i+1])
		}
		c.screen(day(3), r.found)
		if !c.view(day(3)).Screening.Held(ankle) {
			t.Fatalf("%s holds nothing", r.found)
		}
		c.lift(day(4), r.onto)
		want(t, "from "+r.was+" onto "+r.onto, c.view(day(4)).Stage.Key, r.want, practice)
	}
}
