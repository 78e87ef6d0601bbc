package protocol_test

import (
	"slices"
	"strings"
	"testing"

	"footing/rehab"
)

// The doses that whoever trains ankles expects to find, word for word, and the stage in which they must
// be within reach. Common practice; the two of the prevention block Hupperets 2009 BMJ 339:b2684.
func TestUsualDosesAreInTheCatalogue(t *testing.T) {
	p := defaultProtocol(t)
	for _, c := range []struct{ drill, stage, dose, quality string }{
		{"single-balance", "settle", "3 × 30 s", rehab.StaticBalance}, // static balance 3 × 30–60 s
		{"single-balance", "load", "3 × 60 s", rehab.StaticBalance},
		{"forefoot-walk", "load", "3 × 15 m forward and back", rehab.Strength},
		{"reach-clock", "control", "2 rounds a leg", rehab.DynamicBalance},
		{"bounds", "sport", "3 × 3 a leg", rehab.Power},
		{"calf-weekly", "returned", "2 × 15 a leg", rehab.Strength},
		{"balance-weekly", "returned", "1 min a leg", rehab.StaticBalance},
	} {
		d, ok := p.Drill(c.drill)
		if !ok || d.Quality != c.quality {
			t.Errorf("%s: there %t, trains %q, want %q", c.drill, ok, d.Quality, c.quality)
			continue
		}
		if !slices.ContainsFunc(d.Levels[:p.Highest(d, c.stage)], func(l rehab.DrillLevel) bool { return strings.HasPrefix(l.Dose, c.dose) }) {
			t.Errorf("%s in %s has no level of %q", c.drill, c.stage, c.dose)
		}
	}
}

// First contacts after a sprain start far below the 80 to 100 of a healthy beginner's session: the
// easiest level of a drill has at most 40 where the feet first leave the ground. Common practice.
func TestFirstContactsAreFew(t *testing.T) {
	p, n := defaultProtocol(t), 0
	for _, d := range p.Drills {
		if d.In("impact") && d.Levels[0].Contacts > 0 {
			n++
			if d.Levels[0].Contacts > 40 {
				t.Errorf("%s starts with %d contacts", d.Key, d.Levels[0].Contacts)
			}
		}
	}
	if n < 5 {
		t.Errorf("only %d drills of Impact leave the ground", n)
	}
}

// Settle is there to protect, move early, wake the muscles and stand: a session can have each.
// Nothing leaves the ground before Impact. protocol: the course; common practice.
func TestWhatTheFirstStagesTrain(t *testing.T) {
	p := defaultProtocol(t)
	trains := func(stage, quality string) bool {
		return slices.ContainsFunc(p.Drills, func(d rehab.Drill) bool { return d.In(stage) && d.Quality == quality })
	}
	for _, q := range []string{rehab.Mobility, rehab.Strength, rehab.StaticBalance} {
		if !trains("settle", q) {
			t.Errorf("nothing in Settle trains %s", q)
		}
	}
	for _, stage := range []string{"settle", "load", "control"} {
		for _, q := range []string{rehab.Impact, rehab.Landing, rehab.Power} {
			if trains(stage, q) {
				t.Errorf("something in %s trains %s", stage, q)
			}
		}
	}
	for _, stage := range p.Stages {
		if !trains(stage.Key, rehab.StaticBalance) && !trains(stage.Key, rehab.DynamicBalance) {
			t.Errorf("nothing in %s trains balance", stage.Name)
		}
	}
}

// A trial's ground contacts: one landing of a hop, ten there and back of a side hop, three of a stick;
// a pogo counts its own. Common practice.
func TestContactsOfTests(t *testing.T) {
	p := defaultProtocol(t)
	for key, want := range map[string]int{"hop": 1, "side-hop": 20, "figure-8-hop": 20, "stick-forward": 3, "stick-sideways": 3, "drop-jump": 2, "pogo": 0, "balance": 0} {
		if x, _ := p.Test(key); x.Contacts != want || x.CountContacts != (key == "pogo") {
			t.Errorf("%s: %d contacts, counted %t", key, x.Contacts, x.CountContacts)
		}
	}
}
