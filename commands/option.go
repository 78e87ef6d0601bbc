package commands

import (
	"cmp"
	"slices"
	"strings"
)

// Kind is what the value of a field is.
type Kind string

// The kinds. A field that names none is read as words.
const (
	KindWords   Kind = "words"   // words of the grammar: findings, tests, a name
	KindText    Kind = "text"    // free text, taken as it is
	KindChoice  Kind = "choice"  // one of a closed list
	KindInteger Kind = "integer" // a whole number
	KindNumber  Kind = "number"
	KindAthlete Kind = "athlete" // a shirt or a name
	KindDay     Kind = "day"     // a day to come
	KindTime    Kind = "time"    // when something happened
	KindRole    Kind = "role"    // a role of the chat side, by its id
	KindChannel Kind = "channel" // a channel of the chat side, by its id
	KindAccount Kind = "account" // an account of the chat side, by its id
	KindFile    Kind = "file"    // a file that comes with the line; its text is never in an option
)

// mostSuggested is how many choices or suggestions are shown at once: more nobody reads.
const mostSuggested = 25

// NamedOption is a field as a front shows it that asks for each by its name.
type NamedOption struct {
	Name        string
	Description string // what it takes, in plain words
	Required    bool
	Kind        Kind
	Choices     []string // all it takes; nil when it takes other things too, or too many to show
	Min, Max    float64  // of a number; the same where any will do
	Completes   bool     // Complete suggests values while typing
}

// Options lists what a command can be told by named options, what it needs first. An unknown command
// has none.
func (reg *Registry) Options(command string) []NamedOption {
	cmd := reg.named(command)
	if cmd == nil {
		return nil
	}
	var out []NamedOption
	for _, f := range cmd.begin().Fields {
		o := NamedOption{
			Name: f.Name, Description: f.describe(),
			Required: !f.Optional && !(f.Name == "athlete" && cmd.Self), // an athlete who writes is meant
			Kind:     cmp.Or(f.Kind, KindWords), Choices: f.Choices, Min: f.Min, Max: f.Max,
		}
		if len(o.Choices) > mostSuggested {
			o.Choices = nil
		}
		o.Completes = f.offers != nil && o.Choices == nil
		out = append(out, o)
	}
	slices.SortStableFunc(out, func(a, b NamedOption) int { return boolInt(b.Required) - boolInt(a.Required) })
	return out
}

// named finds a command by its own name, nil when there is none.
func (reg *Registry) named(name string) *Command {
	i := slices.IndexFunc(reg.list, func(c *Command) bool { return c.Name == name })
	if i < 0 {
		return nil
	}
	return reg.list[i]
}

// describe says what a field takes.
func (f Field) describe() string {
	return cmp.Or(f.About, strings.TrimPrefix(f.Usage, f.lead), strings.Join(f.Choices, " | "), f.Name+", with commas between")
}
