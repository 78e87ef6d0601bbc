package commands

import (
	"footing/rehab"
	"regexp"
	"strings"
)

// Rest is free text: everything after a colon, or whatever is left that no other field wants.
func Rest(name, usage string, to *string) Field {
	return Field{
		Name: name, Usage: usage, rest: true, colon: true, Kind: KindText, lead: ": ",
		match: func(r *reader) (int, func() error, error) {
			if r.peek(0) != ":" || r.from(1) == "" {
				return 0, nil, nil
			}
			return len(r.toks) - r.at, func() error { *to = r.from(1); return nil }, nil
		},
		text: func() string { return rehab.Prefixed(": ", *to) },
	}
}

// careful marks free text that without its colon may be half of an answer: "pain 2 3", "all but hops",
// "brace no", "lateral not yet".
func careful(f Field) Field {
	f.exact = true
	return f
}

// halves are words that take back what stands before them.
var halves = append([]string{"but", "except", "apart", "minus", "dont", "isnt", "never", "later", "tomorrow", "wait", "cancel"}, denyBefore...)

// from is the line as written from the n-th word on.
func (r *reader) from(n int) string {
	if r.at+n >= len(r.toks) {
		return ""
	}
	return strings.TrimSpace(r.line[r.toks[r.at+n].from:])
}

// Note is free text for medical eyes, from "note:" to the end of the line. The parser takes it off
// before the words are read and hands it over as one last word.
func Note(to *string) Field {
	return Field{
		Name: "note", Usage: "note: free text", Optional: true,
		Kind: KindText, About: "a note, for medical eyes only", lead: noteLead,
		match: func(r *reader) (int, func() error, error) {
			if r.done() || !strings.HasPrefix(r.peek(0), noteMark) {
				return 0, nil, nil
			}
			text := r.toks[r.at].raw
			return 1, func() error { *to = text; return nil }, nil
		},
		text: func() string { return rehab.Prefixed("note: ", *to) },
	}
}

// noteLead stands before a note in a line.
const noteLead = "note: "

// noteMark starts the one word that stands for the whole note; no typed word can.
const noteMark = "\x00note"

var noteStart = regexp.MustCompile(`(?i)\bnote\s*:`)
