package rehab_test

import (
	"strings"
	"testing"

	"footing/rehab"
)

// redFlags are the findings that hold an ankle by themselves.
var redFlags = []string{
	"deformity", "open-wound", "numb", "cold-foot", "no-pulse",
	"bone-outer", "bone-inner", "fifth-metatarsal", "navicular", "growth-plate",
	"squeeze", "external-rotation", "out-of-proportion", "tender-above",
	"fibula-head", "calf-squeeze-absent", "tendon-snap", "talus", "heel", "locking",
}

func TestEveryRedFlagHoldsUntilLifted(t *testing.T) {
	for _, flag := range redFlags {
		t.Run(flag, func(t *testing.T) {
			yes := rehab.Screened{Answers: []rehab.Answer{{Finding: flag, Yes: true}}}
			no := rehab.Screened{Answers: []rehab.Answer{{Finding: flag}}}
			held := func(c *chart, at float64) bool { return c.view(after(at)).Screening.Held(ankle) }
			c := sprain(t, adult)
			c.screen(after(0.5), negative)
			if held(c, 0.6) {
				t.Fatal("held with nothing found")
			}
			c.log(after(1), yes)
			if !held(c, 1) {
				t.Error("not held once it was found")
			}
			c.log(after(24), no)
			c.screen(after(48), negative)
			if !held(c, 49) {
				t.Error("denying it ended the hold: only a clinician does")
			}
			c.lift(after(50), "lateral")
			if held(c, 50) || !c.view(after(50)).Screening.Cleared {
				t.Error("lifted, all else negative, and yet not cleared: " + verdict(c.view(after(50))))
			}
			c.log(after(60), yes)
			if !held(c, 60) {
				t.Error("found anew after the lift, and not held")
			}
			want(t, "availability while held", string(c.assess(after(61)).Level), "unavailable", practice)
		})
	}
}

// Each row is what befell the record, in order; the player is read two days after the sprain.
func TestHolds(t *testing.T) {
	const image = "held; image: ottawa-navicular; films: foot"
	for _, r := range []struct {
		what string
		log  func(c *chart)
		want string
	}{
		{"a lift ends what held then; another finding afterwards holds", func(c *chart) {
			c.screen(after(1), negative, "navicular")
			c.lift(after(20), "lateral")
			c.screen(after(24), "bone-outer")
		}, "held; image: ottawa-bone-outer; films: ankle"},
		{"two holds, both lifted at once", func(c *chart) {
			c.screen(after(1), negative, "navicular, squeeze")
			c.lift(after(20), "high")
		}, "cleared"},
		{"on the high course the signs of it are expected: they hold no more, their gate asks for them", func(c *chart) {
			c.screen(after(1), negative, "squeeze")
			c.lift(after(20), "high")
			c.screen(day(9), "squeeze, external-rotation")
		}, "cleared"},
		{"lifted onto the lateral course, and then a high-ankle sign: that holds", func(c *chart) {
			c.screen(after(1), negative, "navicular")
			c.lift(after(20), "lateral")
			c.screen(day(5), "squeeze")
		}, "held; high: squeeze"},
		{"on the high course it is sprained again: the signs hold again", func(c *chart) {
			c.screen(after(1), negative, "squeeze")
			c.lift(after(20), "high")
			c.log(day(9), rehab.Sprained{Side: rehab.Left, Again: true, Protocol: ankle.Hash})
			c.screen(day(9), negative, "squeeze")
		}, "held; high: squeeze; again: new-sprain"},
		{"the line is edited and says the same finding: lifted stays lifted", func(c *chart) {
			seq := c.screen(after(1), negative, "navicular")
			c.lift(after(20), "lateral")
			c.edit(seq, after(21), finds(c.t, negative, "navicular, ligament atfl"))
		}, "cleared"},
		{"edited twice, still the same finding", func(c *chart) {
			seq := c.screen(after(1), negative, "navicular")
			c.lift(after(20), "lateral")
			c.edit(seq, after(21), finds(c.t, negative, "navicular, ligament atfl"))
			c.edit(c.seq, after(22), finds(c.t, negative, "navicular, ligament cfl"))
		}, "cleared"},
		{"the line is edited and adds a finding: that one holds", func(c *chart) {
			seq := c.screen(after(1), negative, "navicular")
			c.lift(after(20), "lateral")
			c.edit(seq, after(21), finds(c.t, negative, "navicular, squeeze"))
		}, "held; high: squeeze"},
		{"the finding was a slip and is edited away", func(c *chart) {
			seq := c.screen(after(1), negative, "navicular")
			c.edit(seq, after(2), finds(c.t, negative))
		}, "cleared"},
		{"one of two findings is edited away: the other holds", func(c *chart) {
			seq := c.screen(after(1), negative, "navicular, talus")
			c.edit(seq, after(2), finds(c.t, negative, "navicular"))
		}, image},
		{"the finding is edited away, but another line says it too", func(c *chart) {
			seq := c.screen(after(1), negative, "navicular")
			c.screen(after(2), "navicular")
			c.edit(seq, after(3), finds(c.t, negative))
		}, image},
		{"found at 20:00, told the day after: holds from the telling", func(c *chart) {
			c.log(after(1), without(finds(c.t, negative), "navicular"))
			c.late(after(24), after(5), finds(c.t, "navicular"))
		}, image},
		{"found at one hour, not found at two, the first told last: holds as if told in order", func(c *chart) {
			c.screen(after(2), negative)
			c.late(after(24), after(1), finds(c.t, "navicular"))
		}, image},
		{"found before the lift but told after it: nobody lifted that", func(c *chart) {
			c.screen(after(1), negative, "squeeze")
			c.lift(after(20), "high")
			c.late(after(24), after(3), finds(c.t, "navicular"))
		}, image},
		{"the lift itself is taken back: held as before", func(c *chart) {
			c.screen(after(1), negative, "navicular")
			c.lift(after(20), "lateral")
			c.entries = c.entries[:len(c.entries)-1]
		}, image},
		{"it gave way, but that was a slip and is edited away", func(c *chart) {
			c.screen(after(1), negative)
			seq := c.log(day(1), rehab.Responded{Pain: 1, Alarms: []string{"gave-way"}})
			c.edit(seq, day(1), rehab.Responded{Pain: 1})
		}, "cleared"},
		{"the morning is edited and now says it gave way: the screen before it no longer counts", func(c *chart) {
			seq := c.log(after(2), rehab.Responded{Pain: 1})
			c.late(after(3), after(1), finds(c.t, negative))
			c.edit(seq, after(4), rehab.Responded{Pain: 1, Alarms: []string{"gave-way"}})
		}, "held; again: gave-way; not examined: bone-outer, bone-inner, fifth-metatarsal, navicular, walked, walks, circulation, squeeze, external-rotation, modifiers"},
		{"midfoot tender, and only later found unable to load", func(c *chart) {
			c.screen(after(1), negative, "midfoot")
			c.screen(after(20), "cannot-walk")
		}, "held; refer: midfoot; recheck: deteriorating"},
		{"midfoot tender, and only later found bruised under the sole", func(c *chart) {
			c.screen(after(1), negative, "midfoot")
			c.screen(after(40), "sole-bruise")
		}, "held; refer: midfoot"},
		{"no steps then or now, next day he walks: still held", func(c *chart) {
			c.screen(after(1), negative, "could-not-walk, cannot-walk")
			c.screen(after(24), "walks")
		}, "held; image: ottawa-steps; films: ankle+foot"},
	} {
		t.Run(r.what, func(t *testing.T) {
			c := sprain(t, adult)
			r.log(c)
			want(t, r.what, verdict(c.view(after(48))), r.want, practice)
		})
	}
}

// What a drunk player denied was not examined: sober, the denials are asked for again.
func TestSoberAgain(t *testing.T) {
	c := sprain(t, adult)
	c.screen(after(1), negative, "intoxicated")
	want(t, "drunk, all negative", verdict(c.view(after(2))), "not cleared; unreliable: intoxicated", ottawa)
	c.screen(after(12), "no modifiers")
	v := c.view(after(13))
	for _, key := range []string{"bone-outer", "bone-inner", "fifth-metatarsal", "navicular", "squeeze", "external-rotation"} {
		if !strings.Contains(strings.Join(missing(v.Screening), " "), key) {
			t.Errorf("sober, and the drunk player's word on %s still counts", key)
		}
	}
	c.screen(after(14), negative)
	want(t, "sober and examined again", verdict(c.view(after(15))), "cleared", ottawa)

	c = sprain(t, adult)
	c.screen(after(1), negative, "intoxicated, navicular")
	c.screen(after(12), negative)
	want(t, "drunk with a tender navicular: sober does not end the hold", verdict(c.view(after(13))), "held; image: ottawa-navicular; films: foot", ottawa)

	c = sprain(t, adult)
	c.screen(after(1), negative, "intoxicated")
	c.screen(after(12), "tender none, squeeze -, er -")
	want(t, "felt again but nobody said sober", verdict(c.view(after(13))), "not cleared; unreliable: intoxicated", ottawa)

	c = sprain(t, adult)
	seq := c.screen(after(1), negative, "intoxicated")
	c.edit(seq, after(2), finds(t, negative))
	want(t, "the word drunk was a slip and is edited away", verdict(c.view(after(13))), "cleared", ottawa)
}

// A new sprain of an ankle under treatment, and an ankle that gave way, both mean: hold, first
// stage, new screen.
func TestInjuredAgain(t *testing.T) {
	for _, r := range []struct {
		what, rule string
		body       rehab.Body
	}{
		{"a new sprain", "new-sprain", rehab.Sprained{Side: rehab.Left, Again: true}},
		{"it gave way this morning", "gave-way", rehab.Responded{Pain: 3, Alarms: []string{"gave-way"}}},
	} {
		t.Run(r.what, func(t *testing.T) {
			const rest = "not examined: bone-outer, bone-inner, fifth-metatarsal, navicular, walked, walks, circulation, squeeze, external-rotation, modifiers"
			c := sprain(t, adult)
			c.screen(after(0.5), negative)
			c.decide(day(3), rehab.Advance, "settle", "load")
			c.decide(day(6), rehab.Advance, "load", "control")
			if v := c.view(day(7)); v.Stage.Key != "control" {
				t.Fatalf("in %s before", v.Stage.Key)
			}
			c.log(day(8), r.body)
			v := c.view(day(8).Add(1))
			want(t, r.what, verdict(v)+"; stage "+v.Stage.Key, "held; again: "+r.rule+"; "+rest+"; stage settle", practice)
			want(t, "since when", v.Since.String(), day(8).String(), practice)
			want(t, "availability", string(c.assess(day(8)).Level), "unavailable", practice)

			c.screen(day(8).Add(1e9), negative)
			want(t, "examined again: only a clinician lifts it", verdict(c.view(day(9))), "held; again: "+r.rule, practice)
			c.lift(day(9), "lateral")
			want(t, "lifted", verdict(c.view(day(9)))+"; stage "+c.view(day(9)).Stage.Key, "cleared; stage settle", practice)

			c.late(day(10), day(7), finds(t, "walked, ligament atfl"))
			want(t, "an examination of the old injury told late changes nothing", verdict(c.view(day(10))), "cleared", practice)
		})
	}

	c := sprain(t, adult)
	c.screen(after(0.5), negative, "navicular")
	c.log(day(2), rehab.Sprained{Side: rehab.Left, Again: true})
	c.screen(day(2).Add(1e9), negative)
	want(t, "held, then sprained again: both hold", verdict(c.view(day(3))), "held; image: ottawa-navicular; again: new-sprain; films: foot", practice)

	c = sprain(t, adult)
	c.screen(after(0.5), negative)
	for _, alarm := range []string{"numb", "locked", "calf", "cannot-load"} {
		c.log(day(1), rehab.Responded{Pain: 1, Alarms: []string{alarm}})
	}
	want(t, "other alarms hold until a clinician has seen the athlete, and do not reset the ankle", verdict(c.view(day(1))), "held; see: alarm-numb; see: alarm-locked; see: alarm-calf; see: alarm-cannot-load", practice)
}
