package rehab_test

import (
	"strconv"
	"testing"

	"footing/rehab"
)

// Nobody comes back sooner than the gates ahead allow: a night after the jog, two nights for two full
// sessions (PAASS asks for training, the numbers are common practice), and the healing floor before landing.
func TestSoonest(t *testing.T) {
	c := sprain(t, "")
	c.screen(after(1), negative)
	nights(t, "day of a sprain of unknown grade: the floor, then two sessions", c.view(after(2)).Soonest(after(2)), floorOf(t, "lateral", 0)+2)
	c.log(after(3), rehab.Sprained{Side: rehab.Left, Grade: 1, Again: true, Protocol: ankle.Hash})
	nights(t, "grade 1", c.view(after(4)).Soonest(after(4)), max(1, floorOf(t, "lateral", 1))+2)
	c = sprain(t, "")
	climb(c, "sport")
	nights(t, "in Sport: two nights", c.view(day(20)).Soonest(day(20)), 2)
	c.test(day(20), "team-session full")
	nights(t, "one session held, its morning to come", c.view(day(20).Add(1)).Soonest(day(20).Add(1)), 2)
	c.log(day(21), rehab.Responded{Pain: 0, Swelling: "same"})
	nights(t, "that morning was good", c.view(day(21).Add(1)).Soonest(day(21).Add(1)), 1)
	c = sprain(t, "")
	climb(c, "returned")
	nights(t, "back", c.view(day(20)).Soonest(day(20)), 0)
}

func floorOf(t *testing.T, course string, grade int) int {
	t.Helper()
	f, ok := ankle.Floor(course, grade)
	if !ok {
		t.Fatalf("no floor for %s grade %d", course, grade)
	}
	return f.Days
}

func nights(t *testing.T, what string, got, wanted int) {
	t.Helper()
	want(t, what, strconv.Itoa(got), strconv.Itoa(wanted), practice)
}
