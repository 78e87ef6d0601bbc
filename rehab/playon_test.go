package rehab_test

import (
	"strings"
	"testing"
	"time"

	"footing/rehab"
)

// The checks of one sitting: no limp, 10 calf raises, 10 hops, a sprint, cuts both ways, player
// confident, support on; and pain at most 2.
var playOnChecks = []string{"no-limp", "raises", "hops", "sprint", "cuts", "confident", "support"}

// played is a player with a clean screen who passed every check in one sitting two hours after the sprain.
func played(t *testing.T) *chart {
	c := sprain(t, adult)
	c.screen(after(0.5), negative)
	c.log(after(2), rehab.PlayedOn{Passed: playOnChecks})
	return c
}

// playing puts where the player stands into one line.
func playing(c *chart, now time.Time) string {
	a := c.assess(now)
	v := a.Views[0]
	said := string(a.Level) + ", " + v.Stage.Key
	if v.Playing.On {
		said += ", plays on"
	}
	for what, text := range map[string]string{"waits for ": v.Playing.Waiting, "stopped: ": v.Playing.Stopped} {
		if text != "" {
			said += ", " + what + text
		}
	}
	return said
}

func TestTheFileHoldsTheChecksForPlayingOn(t *testing.T) {
	var keys []string
	for _, k := range ankle.PlayOn.Checks {
		keys = append(keys, k.Key)
	}
	want(t, "checks", strings.Join(keys, ", "), strings.Join(playOnChecks, ", "), practice)
	if ankle.PlayOn.MaxPain != 2 {
		t.Errorf("pain at most %d, want 2 (%s)", ankle.PlayOn.MaxPain, practice)
	}
}

func TestPlayedOn(t *testing.T) {
	const clean = "full, settle, plays on"
	const course = "unavailable, settle"
	match := func(missed ...string) func(*chart) {
		return func(c *chart) { c.log(after(4), rehab.PlayedOn{After: true, Missed: missed}) }
	}
	morning := func(n int, b rehab.Responded) func(*chart) { return func(c *chart) { c.log(day(n), b) } }
	fine := rehab.Responded{Pain: 1, Swelling: "same"}
	for _, r := range []struct {
		what string
		log  []func(*chart)
		now  time.Time
		want string
	}{
		{"every check passed: full, and checked after the match", nil, after(3), clean + ", waits for the check after the match"},
		{"checked after the match: the morning is to come", []func(*chart){match()}, after(5), clean + ", waits for the morning after"},
		{"good on the morning after", []func(*chart){match(), morning(1, fine)}, day(1), clean},
		{"pain 2 on the morning after", []func(*chart){match(), morning(1, rehab.Responded{Pain: 2})}, day(1), clean},
		{"still good three days later", []func(*chart){match(), morning(1, fine)}, day(3), clean},
		{"the check after the match told the next day, still clean", []func(*chart){match(), morning(1, fine)}, day(1).Add(time.Hour), clean},

		{"limps after the match", []func(*chart){match("no-limp")}, after(5), course + ", stopped: the check after the match was not clean"},
		{"pain after the match", []func(*chart){match("pain"), morning(1, fine)}, day(1), course + ", stopped: the check after the match was not clean"},
		{"never checked after the match", []func(*chart){morning(1, fine)}, day(1), course + ", stopped: it was not checked after the match"},
		{"no word of the morning after", []func(*chart){match()}, day(2), course + ", stopped: the morning after is not answered"},
		{"an answer of the second morning is not one of the first", []func(*chart){match(), morning(2, fine)}, day(2), course + ", stopped: the morning after is not answered"},
		{"pain 3 on the morning after", []func(*chart){match(), morning(1, rehab.Responded{Pain: 3})}, day(1), course + ", stopped: the morning of Sun 8 Mar was worse"},
		{"swelling up on the morning after", []func(*chart){match(), morning(1, rehab.Responded{Pain: 1, Swelling: "more"})}, day(1), course + ", stopped: the morning of Sun 8 Mar was worse"},
		{"a limp on the morning after", []func(*chart){match(), morning(1, rehab.Responded{Limp: true})}, day(1), course + ", stopped: the morning of Sun 8 Mar was worse"},
		{"good on the first morning, pain 3 on the third", []func(*chart){match(), morning(1, fine), morning(3, rehab.Responded{Pain: 3})}, day(3), course + ", stopped: the morning of Tue 10 Mar was worse"},
		{"numb on the morning after", []func(*chart){match(), morning(1, rehab.Responded{Pain: 1, Alarms: []string{"numb"}})}, day(1), course + ", stopped: the screen is not a clean negative"},
		{"gave way on the morning after", []func(*chart){match(), morning(1, rehab.Responded{Pain: 1, Alarms: []string{"gave-way"}})}, day(1), course},

		{"a tender navicular is found afterwards", []func(*chart){func(c *chart) { c.screen(after(3), "navicular") }}, after(3), course + ", stopped: the screen is not a clean negative"},
		{"found, and the hold lifted: it was no clean negative", []func(*chart){func(c *chart) { c.screen(after(3), "navicular"); c.lift(after(3.5), "lateral") }}, after(4), course + ", stopped: the screen is not a clean negative"},
		{"a head knock as well", []func(*chart){func(c *chart) { c.screen(after(3), "head-knock") }}, after(3), course + ", stopped: the screen is not a clean negative"},
		{"cannot walk any more: deteriorating", []func(*chart){func(c *chart) { c.screen(after(3), "cannot-walk") }}, after(3), course + ", stopped: the screen is not a clean negative"},
		{"sprained again in the match", []func(*chart){func(c *chart) { c.log(after(3), rehab.Sprained{Side: rehab.Left, Again: true}) }}, after(3), course},
	} {
		t.Run(r.what, func(t *testing.T) {
			c := played(t)
			for _, f := range r.log {
				f(c)
			}
			want(t, r.what, playing(c, r.now), r.want, practice)
		})
	}
}

// Any one miss puts the player on the course; a later sitting with every check passed lets them play.
func TestEachMissPutsThePlayerOnTheCourse(t *testing.T) {
	for _, miss := range append([]string{"pain"}, playOnChecks...) {
		c := sprain(t, adult)
		c.screen(after(0.5), negative)
		c.log(after(2), rehab.PlayedOn{Missed: []string{miss}})
		want(t, miss+" missed", playing(c, after(3)), "unavailable, settle", practice)
		c.log(after(3), rehab.PlayedOn{After: true})
		want(t, miss+" missed; a clean check after the match makes nothing good", playing(c, after(4)), "unavailable, settle", practice)
		c.log(after(5), rehab.PlayedOn{Passed: playOnChecks})
		want(t, miss+" missed, all passed later", playing(c, after(5)), "full, settle, plays on, waits for the check after the match", practice)
		c.log(after(6), rehab.PlayedOn{Missed: []string{miss}})
		want(t, miss+" missed in the last sitting", playing(c, after(6)), "unavailable, settle", practice)
	}
}

// Nobody plays on without a complete negative screen, whatever else they show.
func TestPlayingOnNeedsAScreen(t *testing.T) {
	for what, says := range map[string]string{
		"no screen": "", "squeeze left out": "tender none, walked, walks, circulation ok, er -, no modifiers",
		"tender outer bone": negative + ", bone-outer", "squeeze pain": negative + ", squeeze", "drunk": negative + ", intoxicated",
		"could walk, cannot now": negative + ", cannot-walk",
	} {
		c := sprain(t, adult)
		if says != "" {
			c.screen(after(0.5), says)
		}
		c.log(after(2), rehab.PlayedOn{Passed: playOnChecks})
		want(t, what, playing(c, after(3)), "unavailable, settle, stopped: the screen is not a clean negative", practice)
	}
}
