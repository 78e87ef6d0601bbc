package commands

import (
	"fmt"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"
)

// What each command can be told by named options. It is generated, so it is true.
func TestOptions(t *testing.T) {
	var out strings.Builder
	reg := registry(t)
	for _, c := range reg.Commands() {
		out.WriteString(c.Name + "\n")
		for _, o := range reg.Options(c.Name) {
			out.WriteString("  " + sayOption(o) + "\n")
		}
	}
	golden(t, "options.txt", trimLines(out.String()))
}

func sayOption(o NamedOption) string {
	says := fmt.Sprintf("%-10s %-8s", o.Name, o.Kind)
	if o.Required {
		says += " required"
	}
	if o.Min != o.Max {
		says += fmt.Sprintf(" %g to %g", o.Min, o.Max)
	}
	if o.Choices != nil {
		says += " one of " + strings.Join(o.Choices, ", ")
	}
	if o.Completes {
		says += " completes"
	}
	return says + ": " + o.Description
}

// The limits of Discord's application commands, from memory of its developer documentation: at most 25
// options, what is required first; names of 1 to 32 lower-case letters, figures, dashes; descriptions
// of 1 to 100 letters; at most 25 choices of 1 to 100 letters, and none where values are suggested.
func TestOptionsKeepTheLimitsOfSlashCommands(t *testing.T) {
	reg := registry(t)
	name := regexp.MustCompile(`^[-a-z0-9]{1,32}$`)
	short := func(s string) bool { n := utf8.RuneCountInString(s); return n >= 1 && n <= 100 }
	options := 0
	for _, c := range reg.Commands() {
		list := reg.Options(c.Name)
		if !name.MatchString(c.Name) || !short(c.Summary) && len(list) == 0 {
			t.Errorf("%q is no name of a command", c.Name)
		}
		if len(list) > 25 {
			t.Errorf("%s has %d options", c.Name, len(list))
		}
		for i, o := range list {
			options++
			switch {
			case !name.MatchString(o.Name):
				t.Errorf("%s: %q is no name of an option", c.Name, o.Name)
			case !short(o.Description):
				t.Errorf("%s %s: description of %d letters", c.Name, o.Name, utf8.RuneCountInString(o.Description))
			case o.Required && i > 0 && !list[i-1].Required:
				t.Errorf("%s %s is required behind one that is not", c.Name, o.Name)
			case len(o.Choices) > 25, len(o.Choices) > 0 && o.Completes:
				t.Errorf("%s %s has %d choices; completes: %v", c.Name, o.Name, len(o.Choices), o.Completes)
			case (o.Kind == KindInteger || o.Kind == KindNumber) && o.Min > o.Max:
				t.Errorf("%s %s goes from %g to %g", c.Name, o.Name, o.Min, o.Max)
			}
			for _, choice := range o.Choices {
				if !short(choice) {
					t.Errorf("%s %s: choice %q", c.Name, o.Name, choice)
				}
			}
		}
	}
	if options < 100 {
		t.Errorf("only %d options were looked at", options)
	}
}
