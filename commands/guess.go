package commands

import "fmt"

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

// own reads an athlete's answer to the morning's question: "pain 1 same", "1 same". A number alone may
// answer anything.
func (reg *Registry) own(line string, l *Lang) *Call {
	call, err := reg.Parse(fmt.Sprintf("%s %d %s", Morning.Name, l.Self.Shirt, line), l)
	if err != nil || !call.said(3) {
		return nil
	}
	call.Corrected = append(call.Corrected, "this as "+Morning.Name)
	return call
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

func isWho(r *reader) bool {
	_, n, err := who(r)
	return n == 1 || err != nil
}
