package rehab_test

import (
	"slices"
	"strings"
	"testing"

	"footing/rehab"
)

// without is an examination that never mentioned some findings.
func without(b rehab.Screened, keys ...string) rehab.Screened {
	return rehab.Screened{Answers: slices.DeleteFunc(slices.Clone(b.Answers), func(a rehab.Answer) bool { return slices.Contains(keys, a.Finding) })}
}

// Silence is not a negative: each row leaves one thing out of an otherwise complete examination
// that found nothing, and exactly that one is named.
func TestEachWayOfBeingIncomplete(t *testing.T) {
	for _, r := range []struct{ what, leftOut, want string }{
		{"outer bone not touched", "bone-outer", "bone-outer"},
		{"inner bone not touched", "bone-inner", "bone-inner"},
		{"base of the fifth metatarsal not touched", "fifth-metatarsal", "fifth-metatarsal"},
		{"navicular not touched", "navicular", "navicular"},
		{"steps at the time not asked", "walked", "walked"},
		{"steps now not tried", "walks", "walks"},
		{"circulation and sensation not checked", "circulation", "circulation"},
		{"squeeze not done", "squeeze", "squeeze"},
		{"external rotation not done", "external-rotation", "external-rotation"},
		{"pregnancy not asked", "pregnant", "modifiers"},
		{"drink not asked", "intoxicated", "modifiers"},
		{"head knock not asked", "head-knock", "modifiers"},
		{"other sensation loss not asked", "reduced-sensation", "modifiers"},
		{"other injuries not asked", "other-injury", "modifiers"},
		{"all four bones and squeeze", "bone-outer bone-inner fifth-metatarsal navicular squeeze",
			"bone-outer, bone-inner, fifth-metatarsal, navicular, squeeze"},
	} {
		t.Run(r.what, func(t *testing.T) {
			c := sprain(t, adult)
			c.log(after(0.5), without(finds(t, negative), strings.Fields(r.leftOut)...))
			v := c.view(after(1))
			want(t, r.what, verdict(v), "not cleared; not examined: "+r.want, practice)
			if v.Screening.Complete || v.Stage.Key != "settle" {
				t.Errorf("complete %t, stage %s; an incomplete screen stays in settle", v.Screening.Complete, v.Stage.Key)
			}
		})
	}
}

func TestNothingExaminedListsEverything(t *testing.T) {
	const all = "bone-outer, bone-inner, fifth-metatarsal, navicular, walked, walks, circulation, squeeze, external-rotation, modifiers"
	c := sprain(t, adult)
	want(t, "adult, nothing said", verdict(c.view(after(1))), "not cleared; not examined: "+all, practice)
	c = sprain(t, "2010-06-01")
	want(t, "15 years old, nothing said", verdict(c.view(after(1))), "not cleared; not examined: "+all+", growth-plate", practice)
	c.screen(after(0.5), "ligament atfl, ligament cfl")
	want(t, "15 years old, only ligaments felt", verdict(c.view(after(1))), "not cleared; not examined: "+all+", growth-plate", practice)
}

// A positive answer is an answer; what else was not examined is still named.
func TestHeldAndIncomplete(t *testing.T) {
	c := sprain(t, adult)
	c.screen(after(0.5), "tender bone-outer")
	want(t, "one tender bone, nothing else said", verdict(c.view(after(1))),
		"held; image: ottawa-bone-outer; films: ankle; not examined: bone-inner, fifth-metatarsal, navicular, walked, walks, circulation, squeeze, external-rotation, modifiers", practice)
}

func TestPartialScreensAddUp(t *testing.T) {
	parts := []string{"tender none", "walked, walks", "circulation ok, squeeze -", "er -, no modifiers"}
	c := sprain(t, adult)
	for i, part := range parts {
		if got := verdict(c.view(after(1))); got == "cleared" {
			t.Fatalf("cleared before %q was said", part)
		}
		c.screen(after(0.1*float64(i+1)), part)
	}
	want(t, "four lines, one after the other", verdict(c.view(after(1))), "cleared", practice)

	c = sprain(t, adult)
	c.screen(after(0.2), parts[0], parts[1])
	c.screen(after(0.3), parts[2], parts[3], "squeeze")
	want(t, "the second part found squeeze pain", verdict(c.view(after(1))), "held; high: squeeze", sman)

	c = sprain(t, adult)
	c.screen(after(0.2), negative)
	c.screen(after(0.4), "ligament atfl")
	want(t, "a later line that says nothing of bones takes nothing back", verdict(c.view(after(1))), "cleared", practice)

	c = sprain(t, adult)
	c.log(after(0.2), without(finds(t, negative), "navicular"))
	c.late(after(2), after(0.3), finds(t, "navicular -"))
	want(t, "the missing bone was felt then and told two hours later", verdict(c.view(after(3))), "cleared", practice)
}
