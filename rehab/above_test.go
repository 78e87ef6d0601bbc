package rehab_test

import (
	"testing"

	"footing/rehab"
)

// What a recorded test says of an ankle that was not ready for such loading: while the screen is incomplete
// protection only, and nothing leaves the ground before Impact (protocol of the screen and of the course, common
// practice).
func TestLoadingAboveTheStage(t *testing.T) {
	for _, c := range []struct {
		what, screen, stage, test string
		side                      rehab.Side
		want                      rehab.TooMuch
	}{
		{"not examined", "", "", "balance", rehab.Left, rehab.NotCleared},
		{"half examined", "tender none, walked", "", "calf-raise", rehab.Left, rehab.NotCleared},
		{"not examined, a measure that loads nothing", "", "", "girth", rehab.Left, ""},
		{"not examined, the other leg", "", "", "hop", rehab.Right, ""},
		{"a hop in Settle", negative, "", "hop", rehab.Left, rehab.AboveStage},
		{"pogo on both legs in Load", negative, "load", "pogo-both", rehab.None, rehab.AboveStage},
		{"a jog in Load", negative, "load", "jog", rehab.None, rehab.AboveStage},
		{"a stick in Control", negative, "control", "stick-forward", rehab.Left, rehab.AboveStage},
		{"a full team session in Control", negative, "control", "team-session", rehab.None, rehab.AboveStage},
		{"balance in Settle", negative, "", "balance", rehab.Left, ""},
		{"calf raises in Settle", negative, "", "calf-raise", rehab.Left, ""},
		{"girth in Settle", negative, "", "girth", rehab.Left, ""},
		{"how sure they feel, in Settle", negative, "", "confidence", rehab.None, ""},
		{"pogo in Impact", negative, "impact", "pogo", rehab.Left, ""},
		{"a hop in Impact, for the next gates in one sitting", negative, "impact", "hop", rehab.Left, ""},
		{"the other leg in Settle", negative, "", "hop", rehab.Right, ""},
		{"back in matches", negative, "returned", "hop", rehab.Left, ""},
	} {
		ch := sprain(t, adult)
		if c.screen != "" {
			ch.screen(after(0.5), c.screen)
		}
		if c.stage != "" {
			ch.decide(day(1), rehab.Advance, "", c.stage)
		}
		b := rehab.Tested{Test: c.test, Side: c.side, Trials: []rehab.Trial{{Value: 1}}}
		if c.test == "team-session" {
			b.Trials, b.Choice = nil, "full"
		}
		want(t, c.what, string(ch.view(day(2)).Loaded(b)), string(c.want), practice)
		b.Absent = "not-done"
		want(t, c.what+", not done", string(ch.view(day(2)).Loaded(b)), "", practice)
	}
}
