package rehab_test

import (
	"testing"
	"time"

	"footing/rehab"
)

// The sprain is on 7 March 2026. Under 18 the fracture rule applies and the growth plates must be
// examined; under 16 a high-ankle sign means an image.
func TestUnder18(t *testing.T) {
	for _, r := range []struct{ what, born, says, want, source string }{
		{"17 by the roster, growth plates clear", "2008-06-01", "growth-plate -", "cleared", children},
		{"17 by the roster, growth plates not examined", "2008-06-01", "", "not cleared; not examined: growth-plate", practice},
		{"17 by the roster, growth plate tender", "2008-06-01", "growth-plate", "held; image: growth-plate; films: ankle", practice},
		{"17, growth plates clear, navicular tender: the rule applies", "2008-06-01", "growth-plate -, navicular", "held; image: ottawa-navicular; films: foot", children},
		{"17, steps failed, growth plate tender: the site is named", "2008-06-01", "could-not-walk, cannot-walk, growth-plate",
			"held; image: ottawa-steps; image: growth-plate; films: ankle", practice},
		{"typed under 18, growth plates clear", "", "under-18, growth-plate -", "cleared", children},
		{"typed under 18, growth plates not examined", "", "under-18", "not cleared; not examined: growth-plate", practice},
		{"typed under 18, growth plate tender", "", "under-18, growth-plate", "held; image: growth-plate; films: ankle", practice},
		{"typed under 16, growth plates not examined", "", "under-16", "not cleared; not examined: growth-plate", practice},
		{"18 tomorrow", "2008-03-08", "", "not cleared; not examined: growth-plate", practice},
		{"18 today", "2008-03-07", "", "cleared", practice},
		{"only the year known, 18 at some time this year: taken as 17", "2008", "", "not cleared; not examined: growth-plate", practice},
		{"only the year known, at least 18", "2007", "", "cleared", practice},
		{"age not known and not typed: the adult rule", "", "", "cleared", practice},
		{"typed as not under 18, but 17 by the roster", "2008-06-01", "under-18 -", "not cleared; not examined: growth-plate", practice},
	} {
		t.Run(r.what, func(t *testing.T) { vignette{r.what, r.says, r.want, r.source}.check(t, r.born, false) })
	}
}

func TestUnder16WithAHighAnkleSign(t *testing.T) {
	for _, r := range []struct{ what, born, says, want string }{
		{"15 and squeeze pain", "2010-06-01", "squeeze", "held; image: high-under-16; high: squeeze; films: ankle"},
		{"15 and external-rotation pain", "2010-06-01", "er", "held; image: high-under-16; high: external-rotation; films: ankle"},
		{"15 and pain out of proportion", "2010-06-01", "out-of-proportion", "held; image: high-under-16; high: out-of-proportion; films: ankle"},
		{"15 and tender above the joint", "2010-06-01", "tender above", "held; image: high-under-16; high: tender-above; films: ankle"},
		{"15 and cannot hop: no sign by itself", "2010-06-01", "cannot-hop", "cleared"},
		{"15 and no sign", "2010-06-01", "", "cleared"},
		{"typed under 16 and squeeze pain", "", "under-16, squeeze", "held; image: high-under-16; high: squeeze; films: ankle"},
		{"16 today and squeeze pain: refer, no image by this rule", "2010-03-07", "squeeze", "held; high: squeeze"},
		{"16 tomorrow and squeeze pain", "2010-03-08", "squeeze", "held; image: high-under-16; high: squeeze; films: ankle"},
		{"only the year known, 16 at some time this year: taken as 15", "2010", "squeeze", "held; image: high-under-16; high: squeeze; films: ankle"},
		{"typed under 18 only and squeeze pain", "", "under-18, squeeze", "held; high: squeeze"},
	} {
		t.Run(r.what, func(t *testing.T) {
			vignette{r.what, "growth-plate -, " + r.says, r.want, practice}.check(t, r.born, false)
		})
	}
}

// The age may be told after the sign.
func TestUnder16ToldAfterwards(t *testing.T) {
	c := sprain(t, "")
	c.screen(after(0.5), negative, "squeeze, growth-plate -")
	want(t, "squeeze pain, age not known", verdict(c.view(after(1))), "held; high: squeeze", sman)
	c.screen(after(2), "under-16")
	want(t, "then typed under 16", verdict(c.view(after(3))), "held; image: high-under-16; high: squeeze; films: ankle", practice)
}

// A team may make every screen of an under-18 "image or examine again".
func TestStrictMinors(t *testing.T) {
	const again = "not cleared; unreliable: strict-minors"
	for _, r := range []struct{ what, born, says, want string }{
		{"17 by the roster, all clear", "2008-06-01", "", again},
		{"15 by the roster, all clear", "2010-06-01", "", again},
		{"typed under 18, all clear", "", "under-18", again},
		{"typed under 16, all clear: under 16 is under 18", "", "under-16", again},
		{"only the year known, taken as 17", "2008", "", again},
		{"17 and a bone tender: held as for anybody", "2008-06-01", "bone-inner", "held; image: ottawa-bone-inner; unreliable: strict-minors; films: ankle"},
		{"an adult, all clear", adult, "", "cleared"},
	} {
		t.Run(r.what, func(t *testing.T) {
			vignette{r.what, "growth-plate -, " + r.says, r.want, practice}.check(t, r.born, true)
		})
	}

	c := sprain(t, "2008-06-01")
	c.strict = true
	c.screen(after(0.5), negative, "growth-plate -")
	c.lift(after(20), "lateral")
	want(t, "17, strict team, a clinician cleared it after films", verdict(c.view(after(21))), "cleared", practice)
	c.log(after(300), rehab.Sprained{Side: rehab.Left, Again: true})
	c.screen(after(301), negative, "growth-plate -")
	want(t, "then sprained again: examine again", verdict(c.view(after(302))), "held; again: new-sprain; unreliable: strict-minors", practice)
}

// The day of the sprain is the team's own day: in Auckland it is already 8 March.
func TestTheBirthdayIsTheTeamsDay(t *testing.T) {
	auckland, err := time.LoadLocation("Pacific/Auckland")
	if err != nil {
		t.Fatal(err)
	}
	c := sprain(t, "2008-03-08")
	c.screen(after(0.5), negative)
	want(t, "18 on the day, where the team is", verdict(c.view(after(1).In(auckland))), "cleared", practice)
	want(t, "18 tomorrow, where the team is", verdict(c.view(after(1).In(time.UTC))), "not cleared; not examined: growth-plate", practice)
}
