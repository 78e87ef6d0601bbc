package commands

import (
	"fmt"
	"slices"
	"strings"
)

// RedFlag finds a word for an emergency or an alarm in a text, undenied, or gives "". A "no" behind it
// denies it only where nothing follows: "foot numb no idea why" is a red flag.
func RedFlag(text string, l *Lang) string {
	line := clean(text)
	r := &reader{lang: l, line: line, toks: slices.DeleteFunc(tokens(line), func(t token) bool { return t.text == ":" })}
	for ; !r.done(); r.at++ {
		if slices.Contains(denyBefore, r.peek(0)) {
			r.at++ // and what it denies
			continue
		}
		if meaning, n := longest(r, l.flags); n > 0 && !(slices.Contains(denyAfter, r.peek(n)) && r.closes(n)) {
			return meaning
		}
	}
	return ""
}

// flagSays is what whoever typed a red flag in a line that was not saved reads.
func flagSays(flag string, l *Lang) string {
	if l.Self.ID != 0 {
		return fmt.Sprintf("That (%s) cannot wait. Type: %s, or call emergency services.", flag, Wrong.Name)
	}
	return fmt.Sprintf("The line names a red flag (%s): see the athlete now; in an emergency call first. Then type it again.", flag)
}

// warned adds to what a line is refused or asked for the red flag in it: what was not saved may still not wait.
func warned(err error, text string, l *Lang) error {
	if err == nil {
		return nil
	}
	flag := RedFlag(text, l)
	if flag == "" {
		return err
	}
	says := flagSays(flag, l)
	switch e := err.(type) {
	case *Refusal:
		if !strings.Contains(e.Says, says) {
			e.Says += " " + says
		}
	case *Question:
		if !strings.Contains(e.Asks, says) {
			e.Asks += " " + says
		}
	}
	return err
}
