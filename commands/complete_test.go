package commands

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"footing/rehab"
)

// Each row is what was typed into an option and the values suggested first.
func TestComplete(t *testing.T) {
	reg, l := registry(t), lang(t)
	for _, c := range []struct {
		command, option, typed string
		first                  []string
	}{
		{"ready", "athlete", "", []string{"7", "9", "12", "23"}},
		{"ready", "athlete", "me", []string{"7", "9"}},
		{"ready", "athlete", "poo", []string{"9"}},
		{"ready", "athlete", "mez", []string{"7"}},
		{"ready", "athlete", "ZOË", []string{"23"}},
		{"ready", "athlete", "zoe l", []string{"23"}},
		{"ready", "athlete", "1", []string{"12"}},
		{"ready", "athlete", "7 Mere", []string{"7"}},
		{"ready", "athlete", "x", nil},
		{"test", "tests", "cal", []string{"calf-raise "}},
		{"test", "tests", "ktw", []string{"knee-to-wall "}},
		{"test", "tests", "knee-to-wall L 9 R 12, cal", []string{"knee-to-wall L 9 R 12, calf-raise "}},
		{"test", "tests", "Calf-raise 18/27,Gait li", []string{"Calf-raise 18/27, gait limp"}},
		{"screen", "findings", "walks, walked", []string{"walks, walked"}},
		{"test", "squad", "knee", []string{"knee-to-wall "}},
		{"test", "squad", "ktw l/r: 7 9/12, jo", []string{"ktw l/r: 7 9/12, Joss Okafor "}},
		{"screen", "findings", "squ", []string{"squeeze"}},
		{"screen", "findings", "walks, no sq", []string{"walks, no squeeze"}},
		{"screen", "findings", "lat mal", []string{"tender bone-outer"}},
		{"lift-hold", "course", "", []string{"lateral", "medial", "high", "other"}},
		{"sprain", "mechanism", "rol", []string{"inversion"}},
		{"plan", "kit", "no-", []string{"no-band"}},
		{"plan", "kit", "ball, b", []string{"ball, band"}},
		{"modified", "until", "", []string{"today", "tomorrow", "thu", "fri", "sat", "sun", "mon"}},
		{"modified", "until", "wed", []string{"tomorrow"}},
		{"modified", "until", "f", []string{"fri"}},
		{"sprain", "when", "", []string{"today", "yesterday", "sun", "sat", "fri", "thu", "wed"}},
		{"sprain", "note", "", nil},
		{"sprain", "colour", "", nil},
		{"frobnicate", "athlete", "", nil},
	} {
		var got []string
		for _, s := range reg.Complete(c.command, c.option, c.typed, l) {
			got = append(got, s.Value)
		}
		if len(got) < len(c.first) || !slices.Equal(got[:len(c.first)], c.first) || c.first == nil && got != nil {
			t.Errorf("%s %s %q: %q does not start with %q", c.command, c.option, c.typed, got, c.first)
		}
	}
}

// Whatever is suggested is short enough to be shown, and what is not the start of something is
// understood when it is chosen.
func TestSuggestionsAreShortAndUnderstood(t *testing.T) {
	reg, l := registry(t), lang(t)
	var many []rehab.Athlete
	for i := range 40 {
		many = append(many, rehab.Athlete{ID: int64(i + 1), Shirt: i + 1, Name: fmt.Sprintf("Player %s%s", strings.Repeat("x", i), strings.Repeat("y", 70)), Active: true})
	}
	l.SetRoster(append(many, squad...)[40-8:])
	seen := 0
	for _, c := range reg.Commands() {
		for i, f := range c.begin().Fields {
			for _, typed := range []string{"", "a", "c", "n", "t", strings.Repeat("walks, ", 13), "squeeze, ", "ball, "} {
				list := reg.Complete(c.Name, f.Name, typed, l)
				if len(list) > mostSuggested {
					t.Errorf("%s %s %q: %d suggestions", c.Name, f.Name, typed, len(list))
				}
				for _, s := range list {
					seen++
					if n, m := utf8.RuneCountInString(s.Label), utf8.RuneCountInString(s.Value); n < 1 || n > 100 || m < 1 || m > 100 {
						t.Errorf("%s %s: %d and %d letters: %q %q", c.Name, f.Name, n, m, s.Label, s.Value)
					}
					if typed == "" && !strings.HasSuffix(s.Value, " ") {
						if err := c.begin().take(i, s.Value, l); err != nil {
							t.Errorf("%s %s: suggested %q: %v", c.Name, f.Name, s.Value, err)
						}
					}
				}
			}
		}
	}
	if seen < 1000 {
		t.Errorf("only %d suggestions were looked at", seen)
	}
}
