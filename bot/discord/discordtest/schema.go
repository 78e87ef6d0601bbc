package discordtest

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"
)

// Option types (Application Commands, Application Command Option Type).
const (
	optSubcommand = 1
	optGroup      = 2
	optString     = 3
	optInteger    = 4
	optBoolean    = 5
	optUser       = 6
	optChannel    = 7
	optRole       = 8
	optNumber     = 10
	optAttachment = 11
)

// schema is a command as declared.
type schema struct {
	Type        int
	Name        string
	Description string
	Options     []option
	Permissions *string `json:"default_member_permissions"`
	InDM        *bool   `json:"dm_permission"`
	Contexts    *[]int
}

type option struct {
	Type         int
	Name         string
	Description  string
	Required     bool
	Autocomplete bool
	Choices      []choice
	Options      []option
	MinValue     *float64 `json:"min_value"`
	MaxValue     *float64 `json:"max_value"`
	MinLength    *int     `json:"min_length"`
	MaxLength    *int     `json:"max_length"`
}

type choice struct {
	Name  string
	Value any
}

// commandName is the rule for names of chat commands and options (Application Command Naming), with the
// marks of Devanagari and Thai left out; letters that have a lower case must be lower case.
var commandName = regexp.MustCompile(`^[-_'\p{L}\p{N}]{1,32}$`)

// check follows Application Command Structure, Option Structure and Option Choice Structure.
func (s *schema) check(f *form, at string) {
	if s.Type != 1 {
		f.length(join(at, "name"), s.Name, 1, 32)
		f.length(join(at, "description"), s.Description, 0, 0)
		return
	}
	f.name(at, s.Name)
	f.length(join(at, "description"), s.Description, 1, 100)
	checkOptions(f, join(at, "options"), s.Options, 0)
	if n := size(s.Name, s.Description, s.Options); n > 8000 {
		f.add(join(at, "name"), "APPLICATION_COMMAND_TOO_LARGE", "Command exceeds maximum size (8000)")
	}
}

func (f *form) name(at, name string) {
	if !commandName.MatchString(name) || name != strings.ToLower(name) {
		f.add(join(at, "name"), "APPLICATION_COMMAND_INVALID_NAME", "Command name is invalid")
	}
}

func checkOptions(f *form, at string, options []option, depth int) {
	f.count(at, len(options), 0, 25)
	optional, nested := false, 0
	seen := map[string]bool{}
	for i, o := range options {
		at := fmt.Sprintf("%s.%d", at, i)
		f.name(at, o.Name)
		f.length(at+".description", o.Description, 1, 100)
		if seen[o.Name] {
			f.add(at+".name", "APPLICATION_COMMAND_OPTIONS_NAME_DUPLICATE", "Option names must be unique")
		}
		seen[o.Name] = true
		if o.Required && optional {
			f.add(at, "APPLICATION_COMMAND_OPTIONS_REQUIRED_INVALID", "Required options must be placed before non-required options")
		}
		optional = optional || !o.Required
		if o.Type == optSubcommand || o.Type == optGroup {
			nested++
			o.checkNested(f, at, depth)
			continue
		}
		o.check(f, at)
	}
	if nested > 0 && nested < len(options) {
		f.add(at, "APPLICATION_COMMAND_OPTIONS_TYPE_INVALID", "Sub-command and sub-command group option types are mutually exclusive to all other types")
	}
}

// checkNested checks a subcommand or a group: groups hold subcommands, and nothing nests deeper.
func (o *option) checkNested(f *form, at string, depth int) {
	deepest := 1
	if o.Type == optGroup {
		deepest = 0
		f.count(at+".options", len(o.Options), 1, 25)
		for i, sub := range o.Options {
			if sub.Type != optSubcommand {
				f.add(fmt.Sprintf("%s.options.%d.type", at, i), "BASE_TYPE_CHOICES", "Value must be one of {1}.")
			}
		}
	}
	if depth > deepest || o.Required {
		f.add(at+".type", "APPLICATION_COMMAND_OPTIONS_TYPE_INVALID", "Sub-commands cannot be here, or be required")
		return
	}
	checkOptions(f, at+".options", o.Options, depth+1)
}

// check checks an option that takes a value.
func (o *option) check(f *form, at string) {
	f.length(at+".description", o.Description, 0, 100)
	if o.Type < optString || o.Type > optAttachment {
		f.add(at+".type", "BASE_TYPE_CHOICES", "Value must be one of {1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11}.")
	}
	choosable := o.Type == optString || o.Type == optInteger || o.Type == optNumber
	if (len(o.Choices) > 0 || o.Autocomplete) && !choosable || len(o.Choices) > 0 && o.Autocomplete {
		f.add(at, "APPLICATION_COMMAND_OPTIONS_CHOICES_INVALID", "Choices or autocomplete are not allowed here, or not together")
	}
	f.count(at+".choices", len(o.Choices), 0, 25)
	checkChoices(f, at+".choices", o.Choices, o.Type)
	least, most := value(o.MinLength, 0), value(o.MaxLength, 6000)
	if least < 0 || least > 6000 || most < 1 || most > 6000 || least > most {
		f.add(at+".max_length", "BASE_TYPE_BAD_RANGE", "Lengths must lie between 0 and 6000.")
	}
	if o.MinValue != nil && o.MaxValue != nil && *o.MinValue > *o.MaxValue {
		f.add(at+".min_value", "BASE_TYPE_BAD_RANGE", "min_value is larger than max_value.")
	}
	if (o.MinLength != nil || o.MaxLength != nil) && o.Type != optString {
		f.add(at+".max_length", "APPLICATION_COMMAND_OPTION_LENGTH_INVALID", "Only string options have lengths.")
	}
	if (o.MinValue != nil || o.MaxValue != nil) && o.Type != optInteger && o.Type != optNumber {
		f.add(at+".max_value", "APPLICATION_COMMAND_OPTION_RANGE_INVALID", "Only number options have ranges.")
	}
}

// checkChoices checks the choices of an option, and those that answer an autocomplete.
func checkChoices(f *form, at string, choices []choice, kind int) {
	seen := map[string]bool{}
	for i, c := range choices {
		at := fmt.Sprintf("%s.%d", at, i)
		f.length(at+".name", c.Name, 1, 100)
		text, isText := c.Value.(string)
		number, isNumber := c.Value.(float64)
		switch {
		case kind == optString && !isText, kind == optInteger && (!isNumber || number != float64(int64(number))), kind == optNumber && !isNumber:
			f.add(at+".value", "BASE_TYPE_CONVERT", "Could not interpret the value.")
		case isText:
			f.length(at+".value", text, 1, 100)
		}
		if seen[c.Name] { // from memory
			f.add(at+".name", "APPLICATION_COMMAND_OPTIONS_CHOICE_NAME_DUPLICATE", "Choice names must be unique")
		}
		seen[c.Name] = true
	}
}

// size adds up what counts towards the 8000 characters of a command (Application Command Object).
func size(name, description string, options []option) int {
	n := utf8.RuneCountInString(name) + utf8.RuneCountInString(description)
	for _, o := range options {
		n += size(o.Name, o.Description, o.Options)
		for _, c := range o.Choices {
			n += utf8.RuneCountInString(c.Name) + utf8.RuneCountInString(fmt.Sprint(c.Value))
		}
	}
	return n
}

// usable says whether a member of the channel finds the command there (Application Commands, Permissions
// and Contexts).
func (c *command) usable(u *User, at *Channel) bool {
	if at.guild == nil {
		return c.guild == "" && (c.InDM == nil || *c.InDM) && (c.Contexts == nil || slices.Contains(*c.Contexts, 1))
	}
	if c.guild != "" && c.guild != at.guild.ID || c.Contexts != nil && !slices.Contains(*c.Contexts, 0) {
		return false
	}
	var needs int64
	if c.Permissions != nil {
		_, _ = fmt.Sscan(*c.Permissions, &needs)
		if needs == 0 { // "0": administrators only
			needs = Administrator
		}
	}
	return at.can(u, needs|UseCommands)
}
