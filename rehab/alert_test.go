package rehab_test

import (
	"testing"
	"time"

	"footing/rehab"
)

// An athlete's word that something is wrong ends when medical staff have looked at what it was about
// (common practice): the ankle it named, any where it named none, or the athlete without an ankle.
func TestAnAlertEndsWithTheAnkleItWasAbout(t *testing.T) {
	const left, right = 1, 2
	alert := func(episode int) func(*chart) {
		return func(c *chart) { c.of(episode, day(2), rehab.Noted{Text: "my foot went cold", Alert: true}) }
	}
	examined := func(episode int) func(*chart) {
		return func(c *chart) { c.of(episode, day(2).Add(time.Hour), finds(t, negative)) }
	}
	seen := func(c *chart) { c.of(0, day(2).Add(time.Hour), rehab.Noted{Text: "a blister", Seen: true}) }
	for _, c := range []struct {
		name   string
		steps  []func(*chart)
		stands bool
	}{
		{"nobody has looked", []func(*chart){alert(left)}, true},
		{"that ankle examined", []func(*chart){alert(left), examined(left)}, false},
		{"the other ankle examined", []func(*chart){alert(left), examined(right)}, true},
		{"both examined", []func(*chart){alert(left), examined(right), examined(left)}, false},
		{"no ankle named, one examined", []func(*chart){alert(0), examined(right)}, false},
		{"two alerts, the other ankle examined", []func(*chart){alert(left), alert(0), examined(right)}, true},
		{"seen", []func(*chart){alert(left), seen}, false},
		{"no ankle named, seen", []func(*chart){alert(0), seen}, false},
		{"said again after it was seen", []func(*chart){alert(left), seen, func(c *chart) { c.of(left, day(3), rehab.Noted{Alert: true}) }}, true},
		{"a note is no examination", []func(*chart){alert(left), func(c *chart) { c.of(left, day(3), rehab.Noted{Text: "rang, no answer"}) }}, true},
		{"sprained anew and examined", []func(*chart){alert(left), func(c *chart) {
			c.of(3, day(3), rehab.Sprained{Side: rehab.Left, Protocol: ankle.Hash})
			c.of(3, day(3), finds(t, negative))
		}}, false},
		{"declared available", []func(*chart){alert(left), func(c *chart) { c.of(0, day(3), rehab.Restricted{Level: rehab.Full}) }}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			ch := sprain(t, adult)
			ch.screen(after(0.5), negative)
			ch.of(right, day(1), rehab.Sprained{Side: rehab.Right, Protocol: ankle.Hash})
			ch.of(right, day(1), finds(t, negative))
			for _, step := range c.steps {
				step(ch)
			}
			if st := ch.assess(day(4)).State; st.Alert.IsZero() == c.stands {
				t.Errorf("alert of %v, want it to stand: %v (%s)", st.Alert, c.stands, practice)
			}
		})
	}
}

// While nobody has looked since, no gate is met (common practice); the word of whoever saw them gives it back.
func TestAnAlertStandsBeforeEveryGate(t *testing.T) {
	for _, stage := range []string{"control", "impact", "land", "sport"} {
		c := ready(t, stage, "")
		if unmet, _ := c.view(evening).Unmet(); len(unmet) > 0 {
			t.Fatalf("%s: not met before it was said: %v", stage, unmet)
		}
		c.log(evening, rehab.Noted{Text: "something is wrong", Alert: true})
		unmet, locked := c.view(evening.Add(time.Hour)).Unmet()
		if len(unmet) != 1 || len(locked) != 0 || unmet[0].Status != rehab.NotMet || unmet[0].Says != "said something is wrong, Tue 19:00: examine first" {
			t.Errorf("%s: not met %v, locked %v (%s)", stage, unmet, locked, practice)
		}
		c.log(evening.Add(2*time.Hour), rehab.Noted{Text: "a blister", Seen: true})
		if unmet, _ := c.view(evening.Add(3 * time.Hour)).Unmet(); len(unmet) > 0 {
			t.Errorf("%s: not met once seen: %v", stage, unmet)
		}
	}
}
