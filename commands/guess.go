package commands

import (
	"fmt"
	"slices"
	"strings"
)

// guessed are the commands a line may leave out when it starts with who: the first that the rest
// makes a whole of is meant.
var guessed = []string{"test", "morning", "screen", "sprain"}

// guess reads a line that names an athlete but no command: "7 ktw 9.5/12", "mez pain 1 same", "7".
func (reg *Registry) guess(line string, l *Lang) *Call {
	r := &reader{lang: l, line: line, toks: tokens(tidy(line))}
	_, n, err := who(r)
	if l.Self.ID != 0 && n == 0 {
		return reg.own(line, l)
	}
	if err != nil || n == 0 {
		return nil
	}
	if n == len(r.toks) {
		call, _ := reg.Parse("ready "+line, l)
		return call
	}
	for _, name := range guessed {
		call, err := reg.Parse(name+" "+line, l)
		if err == nil && call.said(2) {
			call.Corrected = append(call.Corrected, "this as "+name)
			return call
		}
	}
	return nil
}

// flagged gives what keeps a line that names an athlete and a red flag from being a screen: that says
// more than that the command is missing.
func (reg *Registry) flagged(line string, l *Lang) (*Call, error) {
	_, n, err := who(&reader{lang: l, line: line, toks: tokens(line)})
	if err != nil || n == 0 || RedFlag(line, l) == "" {
		return nil, nil
	}
	return reg.Parse("screen "+line, l)
}

// own reads an athlete's answer to the morning's question, "pain 1 same", "1 same", and to a plan, "partly", "not
// today". A number alone may answer anything.
func (reg *Registry) own(line string, l *Lang) *Call {
	for _, name := range []string{Morning.Name, Done.Name} {
		call, err := reg.Parse(fmt.Sprintf("%s %d %s", name, l.Self.Shirt, line), l)
		answers := err == nil && (name == Morning.Name && call.said(3) || name == Done.Name && call.gave("did"))
		if answers {
			call.Corrected = append(call.Corrected, "this as "+name)
			return call
		}
	}
	return nil
}

func (c *Call) gave(field string) bool {
	return slices.ContainsFunc(c.Fields, func(f Field) bool { return f.Name == field && f.given })
}

// said reports whether at least n fields were given.
func (c *Call) said(n int) bool {
	for _, f := range c.Fields {
		if f.given {
			n--
		}
	}
	return n <= 0
}

// misread answers an athlete whose line was not understood: what hurts must not end in a word about spelling.
func (reg *Registry) misread(line string, l *Lang) *Refusal {
	first, meant := Fold(strings.Fields(line + " ?")[0]), ""
	for _, c := range reg.list {
		if c.Self && meant == "" && len(near(first, c.ways, 1)) > 0 {
			meant = fmt.Sprintf(" Did you mean %s?", c.Name)
		}
	}
	no := refuse("I did not understand “%s”; nothing was saved.%s Hurt, or worse? Press the button. Else type: plan, morning pain 1 same, done all pain 2, or help.", beginning(line), meant)
	no.Buttons = []Button{{Label: "Something is wrong", Line: Wrong.Name + " : " + strings.TrimSpace(line), About: l.Self.ID, Style: "stop"}}
	return no
}

// beginning is a line, cut to what is enough to know it by.
func beginning(line string) string {
	const enough = 40
	if letters := []rune(strings.TrimSpace(line)); len(letters) > enough {
		return string(letters[:enough-1]) + "…"
	}
	return strings.TrimSpace(line)
}

func isWho(r *reader) bool {
	_, n, err := who(r)
	return n == 1 || err != nil
}
