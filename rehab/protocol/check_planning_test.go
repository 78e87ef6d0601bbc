package protocol

import (
	"slices"
	"strings"
	"testing"
)

// Each row breaks one line of how drills are chosen, or of prevention, in the default file.
func TestFaultsOfPlanning(t *testing.T) {
	for _, c := range []struct{ what, old, new, field, says string }{
		{"no minutes", "most_minutes = 60", "most_minutes = 5", "planning.most_minutes", "no less than minutes"},
		{"minutes beyond any session", "most_minutes = 60", "most_minutes = 181", "planning.most_minutes", "at most 180"},
		{"a drill that takes less than nothing", "least_drill = 2", "least_drill = -1", "planning.least_drill", "cannot be negative"},
		{"no drill fits a session", "least_drill = 2", "least_drill = 11", "planning.least_drill", "more than the minutes"},
		{"unknown kit", `kit = ["band", "ball"]` + "\nspaced", `kit = ["rope"]` + "\nspaced", "planning.kit", `"rope" is none of`},
		{"unknown stage for spacing", `spaced_until = "sport"`, `spaced_until = "later"`, "planning.spaced_until", `"later" is no stage`},
		{"a share that rises", "again = [100, 40, 10]", "again = [100, 25, 40]", "planning.weights.again", "never rises"},
		{"no share", "again = [100, 40, 10]", "again = []", "planning.weights.again", "starts with 100"},
		{"a negative weight", "lacks = 40", "lacks = -1", "planning.weights", "cannot be negative"},
		{"a week below a session", "session = 60\nweek = 180", "session = 60\nweek = 50", "planning.cap[0].session", "no fewer a week"},
		{"a cap where the feet stay down", "[[planning.cap]]\nstage = \"impact\"", "[[planning.cap]]\nstage = \"control\"", "planning.cap[0].stage", "nothing leaves the ground in control"},
		{"a stage without a cap", "[[planning.cap]]\nstage = \"impact\"", "[[planning.cap]]\nstage = \"land\"", "planning.cap", "impact has ground contacts but no cap"},
		{"no weeks of prevention", "weeks = 8", "weeks = 0", "prevention.weeks", "need at least 1"},
		{"a test that warns of nothing", `instability = "stability"`, `instability = "hop"`, "prevention.instability", "no test with a warning"},
		{"an instability that never ends", "instability_months = 12", "instability_months = 121", "prevention.instability_months", "at most 120"},
		{"an instability that stands for less than nothing", "instability_months = 12", "instability_months = -1", "prevention.instability_months", "at most 120"},
		{"a year of many months", "within_months = 12", "within_months = 1200", "prevention.within_months", "at most 120"},
		{"follow-ups out of order", "follow_ups = [1, 3, 6, 12]", "follow_ups = [3, 1]", "prevention.follow_ups", "in order"},
	} {
		t.Run(c.what, func(t *testing.T) {
			text := string(DefaultText())
			at := strings.LastIndex(text, c.old)
			if at < 0 {
				t.Fatalf("the file no longer holds %q", c.old)
			}
			_, err := Load("club.toml", []byte(text[:at]+c.new+text[at+len(c.old):]))
			faults, _ := err.(Faults)
			if !slices.ContainsFunc(faults, func(f Fault) bool { return f.Field == c.field && strings.Contains(f.Says, c.says) && f.Line > 1 }) {
				t.Errorf("want a fault of %s that says %q, got:\n%v", c.field, c.says, err)
			}
		})
	}
}
