package rehab_test

import (
	"slices"
	"testing"
	"time"

	"footing/rehab"
)

// A vignette is a player examined half an hour after the sprain. What it says is laid over a
// complete examination that found nothing.
type vignette struct {
	what   string
	says   string
	want   string
	source string
}

func (r vignette) check(t *testing.T, born string, strict bool) {
	t.Helper()
	c := sprain(t, born)
	c.strict = strict
	c.screen(after(0.5), negative, r.says)
	want(t, r.what, verdict(c.view(after(1))), r.want, r.source)
}

func examine(t *testing.T, rows []vignette) {
	t.Helper()
	for _, r := range rows {
		t.Run(r.what, func(t *testing.T) { r.check(t, adult, false) })
	}
}

const adult = "1999-05-20"

func TestFractureRules(t *testing.T) {
	examine(t, []vignette{
		{"nothing tender, walked off and walks", "", "cleared", ottawa},
		{"tender at the posterior edge or tip of the outer ankle", "tender bone-outer",
			"held; image: ottawa-bone-outer; films: ankle", ottawa},
		{"tender at the posterior edge or tip of the inner ankle", "tender bone-inner",
			"held; image: ottawa-bone-inner; films: ankle", ottawa},
		{"tender at the base of the fifth metatarsal", "tender fifth-metatarsal",
			"held; image: ottawa-fifth-metatarsal; films: foot", ottawa},
		{"tender at the navicular", "tender navicular",
			"held; image: ottawa-navicular; films: foot", ottawa},
		{"tender outside and at the navicular needs both series", "tender bone-outer, tender navicular",
			"held; image: ottawa-bone-outer; image: ottawa-navicular; films: ankle+foot", ottawa},
		{"a tender bone is enough though the player walks", "tender bone-outer, walked, walks",
			"held; image: ottawa-bone-outer; films: ankle", ottawa},
		{"no four steps then or now and no site tender: both series", "could-not-walk, cannot-walk",
			"held; image: ottawa-steps; films: ankle+foot", ottawa},
		{"no four steps then or now, outer bone tender: the ankle only", "could-not-walk, cannot-walk, tender bone-outer",
			"held; image: ottawa-bone-outer; image: ottawa-steps; films: ankle", ottawa},
		{"no four steps then or now, fifth metatarsal tender: the foot only", "could-not-walk, cannot-walk, tender fifth-metatarsal",
			"held; image: ottawa-fifth-metatarsal; image: ottawa-steps; films: foot", ottawa},
		{"carried off, but walks now: not positive, both times are needed", "could-not-walk, walks", "cleared", ottawa},
		{"walked off, cannot now: rule negative, deteriorating", "walked, cannot-walk",
			"cleared; recheck: deteriorating", practice},
		{"carried off and limps four steps now: limping counts as bearing weight", "could-not-walk, limping",
			"cleared", memory},
		{"able at one of the two times, in one word", "ottawa-negative", "cleared", ottawa},
	})
}

// "Age over 55" belonged to the superseded 1992 version.
func TestAgeOver55IsNoCriterion(t *testing.T) {
	for _, born := range []string{"1971-03-06", "1970", "1941-01-01"} {
		c := sprain(t, born)
		c.screen(after(0.5), negative)
		want(t, "born "+born+", nothing tender, walks", verdict(c.view(after(1))), "cleared", memory)
	}
}

// The one word stands for four bones and for steps at one of the two times, and for nothing else.
func TestOttawaNegativeConfirmsWhatItSays(t *testing.T) {
	c := sprain(t, adult)
	c.screen(after(0.5), "ottawa-negative")
	v := c.view(after(1))
	want(t, "ottawa-negative alone", verdict(v), "not cleared; not examined: circulation, squeeze, external-rotation, modifiers", practice)
	for _, bone := range []string{"bone-outer", "bone-inner", "fifth-metatarsal", "navicular"} {
		if known, ok := v.Screening.Answers[bone]; !ok || known.Yes {
			t.Errorf("%s is not recorded as not tender", bone)
		}
	}

	c = sprain(t, adult)
	c.screen(after(0.5), "ottawa-negative, cannot-walk, circulation ok, squeeze -, er -, no modifiers")
	want(t, "able at one of the two times and not now, so able before: deteriorating",
		verdict(c.view(after(1))), "cleared; recheck: deteriorating", practice)
}

func TestLigamentTendernessIsNoCriterion(t *testing.T) {
	examine(t, []vignette{
		{"tender ATFL", "ligament atfl", "cleared", ottawa},
		{"tender CFL", "ligament cfl", "cleared", ottawa},
		{"tender deltoid", "ligament deltoid", "cleared", ottawa},
		{"tender ATFL, CFL and deltoid", "ligament atfl, ligament cfl, ligament deltoid", "cleared", ottawa},
		{"tender AITFL: look hard for a high ankle sprain, no hold by itself", "ligament aitfl", "cleared; recheck: aitfl", sman},
	})
}

func TestEmergencies(t *testing.T) {
	examine(t, []vignette{
		{"deformity", "deformity", "held; emergency: deformity", practice},
		{"open wound", "open-wound", "held; emergency: open-wound", practice},
		{"numb foot", "numb", "held; emergency: numb", practice},
		{"cold foot", "cold-foot", "held; emergency: cold-foot", practice},
		{"no foot pulse", "no-pulse", "held; emergency: no-pulse", practice},
		{"circulation or sensation not normal", "circulation not ok", "held; emergency: circulation", practice},
	})

	c := sprain(t, adult)
	c.screen(after(0.1), "deformity")
	v := c.view(after(0.2))
	if first, _ := ankle.Outcome(v.Screening.Hits[0].Outcome); !first.Alone {
		t.Error("an emergency offers something else beside it")
	}
	if len(v.Screening.Missing) != len(ankle.Questions)-1 {
		t.Errorf("deformity alone answers nothing else, yet only %v is left to examine", missing(v.Screening))
	}
}

// The most urgent finding comes first, whatever the order it was said in.
func TestTheMostUrgentComesFirst(t *testing.T) {
	c := sprain(t, adult)
	c.screen(after(0.5), negative, "pregnant, tender talus, squeeze, tender bone-outer, head-knock, cold-foot")
	want(t, "everything at once", verdict(c.view(after(1))),
		"held; emergency: cold-foot; concussion: head-knock; image: ottawa-bone-outer; high: squeeze; refer: talus; unreliable: pregnant; films: ankle", practice)
}

func TestReferrals(t *testing.T) {
	examine(t, []vignette{
		{"tender fibula head", "fibula-head", "held; refer: fibula-head", practice},
		{"tender midfoot that loads, sole not bruised", "midfoot, walks", "cleared", midfoot},
		{"tender midfoot that loads, sole looked at and not bruised", "midfoot, sole-bruise -", "cleared", midfoot},
		{"tender midfoot, cannot load it now", "midfoot, cannot-walk", "held; refer: midfoot; recheck: deteriorating", midfoot},
		{"tender midfoot and a bruised sole", "midfoot, sole-bruise", "held; refer: midfoot", midfoot},
		{"a bruised sole, midfoot not tender", "midfoot -, sole-bruise", "cleared", midfoot},
		{"no foot movement on calf squeeze", "calf-squeeze-absent", "held; refer: calf-squeeze-absent", practice},
		{"foot moves on calf squeeze", "calf-squeeze ok", "cleared", practice},
		{"tendon snap or gap", "tendon-snap", "held; refer: tendon-snap", practice},
		{"tender talus", "talus", "held; refer: talus", practice},
		{"tender heel", "heel", "held; refer: heel", practice},
		{"locking", "locking", "held; refer: locking", practice},
	})
}

func TestHighAnkle(t *testing.T) {
	examine(t, []vignette{
		{"squeeze pain", "squeeze", "held; high: squeeze", sman},
		{"external-rotation pain", "er", "held; high: external-rotation", sman},
		{"pain out of proportion", "out-of-proportion", "held; high: out-of-proportion", sman},
		{"tender above the joint", "tender above", "held; high: tender-above", practice},
		{"cannot hop, nothing else: never a hold by itself", "cannot-hop", "cleared", sman},
		{"cannot hop, tender AITFL: still no hold", "cannot-hop, ligament aitfl", "cleared; recheck: aitfl", sman},
		{"can hop, yet squeeze pain: hopping does not clear it", "hops, squeeze", "held; high: squeeze", sman},
		{"squeeze and external rotation", "squeeze, er", "held; high: squeeze; high: external-rotation", sman},
	})
	// A negative within 24 h had sens 14–56 %, spec 48–83 % (KSSTA 2022 [V]): examine again at 4–5
	// days (Vuurberg 2018 BJSM 52:956 [V]).
	if ankle.Limits.ReexamineDay != 5 {
		t.Errorf("examined again on day %d, want day 5", ankle.Limits.ReexamineDay)
	}
}

// The rule is not reliable here: never a pass, however clean the rest is.
func TestNotReliable(t *testing.T) {
	examine(t, []vignette{
		{"intoxicated", "intoxicated", "not cleared; unreliable: intoxicated", ottawa},
		{"reduced sensation", "reduced-sensation", "not cleared; unreliable: reduced-sensation", ottawa},
		{"another painful injury", "other-injury", "not cleared; unreliable: other-injury", ottawa},
		{"pregnant", "pregnant", "not cleared; unreliable: pregnant", ottawa},
		{"head knock: no return today", "head-knock", "not cleared; concussion: head-knock", ottawa},
		{"intoxicated and a bone tender: the positive counts", "intoxicated, tender navicular",
			"held; image: ottawa-navicular; unreliable: intoxicated; films: foot", ottawa},
	})
}

// More than 10 days after the injury the rule is not a pass; the original studies left these out.
func TestLongAfterTheInjury(t *testing.T) {
	const late = "not cleared; unreliable: late"
	for _, r := range []struct {
		what string
		log  func(c *chart)
		want string
	}{
		{"first examined exactly 10 days after", func(c *chart) { c.screen(after(240), negative) }, "cleared"},
		{"first examined 11 days after", func(c *chart) { c.screen(after(264), negative) }, late},
		{"examined at once, and again 11 days after", func(c *chart) {
			c.screen(after(0.5), negative)
			c.screen(after(264), negative)
		}, "cleared"},
		{"told of the steps at once, the bones first touched 11 days after", func(c *chart) {
			c.screen(after(0.5), "walked, walks")
			c.screen(after(264), negative)
		}, late},
		{"one bone touched at once, the other three first 11 days after", func(c *chart) {
			c.screen(after(0.5), "bone-outer -")
			c.screen(after(264), negative)
		}, late},
		{"examined on the day, but logged 11 days after", func(c *chart) {
			c.late(after(264), after(0.5), finds(t, negative))
		}, "cleared"},
		{"a tender bone 11 days after still counts", func(c *chart) { c.screen(after(264), negative, "tender heel, tender bone-inner") },
			"held; image: ottawa-bone-inner; refer: heel; unreliable: late; films: ankle"},
	} {
		t.Run(r.what, func(t *testing.T) {
			c := sprain(t, adult)
			r.log(c)
			want(t, r.what, verdict(c.view(after(265))), r.want, memory)
		})
	}
}

// A lifted hold is left onto a named course, and the reason is kept.
func TestALiftedHoldNamesItsCourse(t *testing.T) {
	for _, course := range []string{"lateral", "medial", "high", "other"} {
		c := sprain(t, adult)
		c.screen(after(0.5), negative, "tender bone-outer")
		c.lift(after(3), course)
		v := c.view(after(4))
		want(t, "lifted onto "+course, v.Course.Key+", "+v.Screening.Lifted, course+", films clear", practice)
		if guided := slices.Contains([]string{"lateral", "medial", "high"}, course); v.GateDefined != guided {
			t.Errorf("%s: gates proposed %t, want %t", course, v.GateDefined, guided)
		}
	}
}

func TestNobodyLookedYet(t *testing.T) {
	c := sprain(t, adult)
	a := c.assess(injury.Add(time.Minute))
	if s := a.Views[0].Screening; s.Examined() || s.Cleared || s.Complete {
		t.Error("an ankle nobody has looked at passes for examined")
	}
	if a.Level != rehab.Unavailable || a.Views[0].Stage.Key != "settle" {
		t.Errorf("an ankle nobody has looked at is %s in %s", a.Level, a.Views[0].Stage.Key)
	}
}
