package commands

import (
	"strings"
	"testing"
)

// Whatever stops a line, a red flag in it is not lost with it: it is named, and what to do first.
func TestARedFlagIsNamedWhateverStopsItsLine(t *testing.T) {
	reg, l := registry(t), lang(t)
	for name, line := range map[string]string{
		"a word that is not known":        "sprain 7 L match heard a crack, deformity",
		"a denial that may be for two":    "sprain 7 L match deformity cold foot no-pulse",
		"a mechanism too many":            "sprain 7 L match rotation landing, open wound",
		"nobody is named":                 "sprain left match deformity",
		"a shirt that nobody wears":       "sprain 77 left deformity",
		"a question between two findings": "screen 7 open wound, ankle sore",
		"two sides":                       "sprain 7 left right deformity",
	} {
		_, err := reg.Parse(line, l)
		if err == nil {
			t.Errorf("%s: %q is read", name, line)
		} else if !strings.Contains(toldBy(err), "in an emergency call first") {
			t.Errorf("%s: %q is answered %q", name, line, toldBy(err))
		}
		if err := warned(err, line, l); err != nil && strings.Count(toldBy(err), "red flag") != 1 {
			t.Errorf("%s: named twice: %q", name, toldBy(err))
		}
	}
	_, err := reg.Bind("sprain", map[string]string{"athlete": "7", "side": "left", "findings": "open wound, heard a crack"}, l)
	if err == nil || !strings.Contains(toldBy(err), "in an emergency call first") {
		t.Errorf("by options: %v", err)
	}
	_, err = reg.Parse("sprain 7 left footling", l)
	if err == nil || strings.Contains(toldBy(err), "emergency") {
		t.Errorf("without a red flag: %v", err)
	}
	l.Self = l.Roster[0]
	if _, err = reg.Parse("effort 6 foot numb", l); err == nil || !strings.Contains(toldBy(err), "Type: wrong") {
		t.Errorf("an athlete's: %v", err)
	}
}

func toldBy(err error) string {
	if q, ok := err.(*Question); ok {
		return q.Asks
	}
	return err.Error()
}
