package commands

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"footing/rehab"
)

// Field is one thing a command can be told. It is bound to a place in the command's arguments, as
// the flag package binds flags.
type Field struct {
	Name     string // as shown in help
	Usage    string // what to type
	Optional bool

	many  bool
	rest  bool                                                 // takes the remaining text when nothing else wants it
	match func(r *reader) (n int, set func() error, err error) // words taken at the reader's position
	words func(l *Lang) []phrase                               // for near spellings and help
	text  func() string                                        // the value as one would type it, "" when not given
	check func() error                                         // looks at the value once the line is read
	given bool
}

// Opt marks a field that may be left out.
func Opt(f Field) Field {
	f.Optional = true
	return f
}

// reader is a position in a line.
type reader struct {
	lang  *Lang
	line  string
	toks  []token
	at    int
	start int // where the command's own words begin
}

func (r *reader) done() bool { return r.at >= len(r.toks) }

// peek gives the n-th word from here, empty past the end.
func (r *reader) peek(n int) string {
	if r.at+n >= len(r.toks) {
		return ""
	}
	return r.toks[r.at+n].text
}

func (r *reader) has(ws []string) bool {
	for i, w := range ws {
		if r.peek(i) != w {
			return false
		}
	}
	return true
}

// skip returns a reader n words further on.
func (r *reader) skip(n int) *reader {
	c := *r
	c.at += n
	return &c
}

// Word is one of a closed list of values and the other ways to say it.
type Word struct {
	Value string
	Also  []string
}

// Words is a closed list of values, split once for comparing.
type Words struct {
	values  []string
	phrases []phrase
}

// NewWords makes a closed list.
func NewWords(list ...Word) Words {
	var ws Words
	for _, w := range list {
		ws.values = append(ws.values, w.Value)
		ws.phrases = append(ws.phrases, phrases(w.Value, append([]string{w.Value}, w.Also...)...)...)
	}
	return ws
}

// Choice is a field that takes one of a closed list.
func Choice(name string, to *string, list Words) Field {
	return oneOf(name, to, strings.Join(list.values, " | "), func(*Lang) []phrase { return list.phrases })
}

// oneOf is a field whose value is the meaning of one phrase.
func oneOf(name string, to *string, usage string, vocabulary func(*Lang) []phrase) Field {
	return Field{
		Name: name, Usage: usage, words: vocabulary,
		match: func(r *reader) (int, func() error, error) {
			meaning, n := longest(r, vocabulary(r.lang))
			return n, func() error { return once(name, to, meaning) }, nil
		},
		text: func() string { return *to },
	}
}

// once sets a value that may be given only once, unless it is the same again.
func once(name string, to *string, v string) error {
	if *to != "" && *to != v {
		return refuse("%s is given twice: %s and %s. Say one.", name, *to, v)
	}
	*to = v
	return nil
}

var sideWords = NewWords(Word{string(rehab.Left), []string{"l", "lt", "lft"}}, Word{string(rehab.Right), []string{"r", "rt", "rgt"}})

// Side is a field that takes an ankle.
func Side(to *rehab.Side) Field { return Choice("side", (*string)(to), sideWords) }

// Course is a field that takes one of the protocol's courses.
func Course(to *string) Field {
	return oneOf("course", to, "lateral | medial | high | other", func(l *Lang) []phrase { return l.courses })
}

// Keyed is a number after one of some words: "pain 2", "leg 88". A value outside lo to hi is refused
// with the range; whole refuses fractions.
func Keyed(name string, to *float64, lo, hi float64, whole bool, keys ...string) Field {
	vocabulary := phrases(name, keys...)
	given := false
	return Field{
		Name: name, Usage: keys[0] + " N", words: func(*Lang) []phrase { return vocabulary },
		match: func(r *reader) (int, func() error, error) {
			_, n := longest(r, vocabulary)
			if n == 0 {
				return 0, nil, nil
			}
			v, size, ok := number(r.skip(n))
			if !ok {
				return 0, nil, refuse("%s needs a number, for example %s %s.", keys[0], keys[0], rehab.Number((lo+hi)/2))
			}
			return n + size, func() error {
				if v < lo || v > hi {
					return refuse("%s %s cannot be: it goes from %s to %s.", keys[0], rehab.Number(v), rehab.Number(lo), rehab.Number(hi))
				}
				if whole && v != float64(int(v)) {
					return refuse("%s is a whole number from %s to %s, not %s.", keys[0], rehab.Number(lo), rehab.Number(hi), exact(v))
				}
				if given && *to != v {
					return refuse("%s is given twice: %s and %s. Say one.", keys[0], rehab.Number(*to), rehab.Number(v))
				}
				*to, given = v, true
				return nil
			}, nil
		},
		text: func() string {
			if !given {
				return ""
			}
			return keys[0] + " " + exact(*to)
		},
	}
}

var numberShape = regexp.MustCompile(`^-?\d+(?:\.\d+)?$`)

// number reads a value and the unit or "/10" that may follow it.
func number(r *reader) (v float64, n int, ok bool) {
	text, _, _ := strings.Cut(r.peek(0), "/10")
	if !numberShape.MatchString(text) {
		return 0, 0, false
	}
	v, err := strconv.ParseFloat(text, 64)
	n = 1
	if units[r.peek(1)] != "" {
		n = 2
	}
	return v, n, err == nil
}

func exact(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// Rest is free text: everything after a colon, or whatever is left that no other field wants.
func Rest(name, usage string, to *string) Field {
	return Field{
		Name: name, Usage: usage, rest: true,
		match: func(r *reader) (int, func() error, error) {
			if r.peek(0) != ":" || r.from(1) == "" {
				return 0, nil, nil
			}
			return len(r.toks) - r.at, func() error { *to = r.from(1); return nil }, nil
		},
		text: func() string { return rehab.Prefixed(": ", *to) },
	}
}

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

// noteMark starts the one word that stands for the whole note; no typed word can.
const noteMark = "\x00note"

var noteStart = regexp.MustCompile(`(?i)\bnote\s*:`)

// Flags is a field that takes any of some phrases, each at most once; "no x" is understood and
// means it is not so.
func Flags(name string, to *[]string, list Words, more func(*Lang) []phrase) Field {
	vocabulary := func(l *Lang) []phrase {
		if more != nil {
			return slices.Concat(more(l), list.phrases)
		}
		return list.phrases
	}
	return Field{
		Name: name, Optional: true, many: true, words: vocabulary,
		match: func(r *reader) (int, func() error, error) {
			meaning, n := longest(r, vocabulary(r.lang))
			if n == 0 && slices.Contains(denyBefore, r.peek(0)) {
				if _, m := longest(r.skip(1), vocabulary(r.lang)); m > 0 {
					return m + 1, func() error { return nil }, nil
				}
			}
			if n > 0 && slices.Contains(denyAfter, r.peek(n)) && !deniesNext(r, n, vocabulary(r.lang)) {
				return n + 1, func() error { return nil }, nil
			}
			return n, func() error {
				if !slices.Contains(*to, meaning) {
					*to = append(*to, meaning)
				}
				return nil
			}, nil
		},
		text: func() string { return strings.Join(*to, " ") },
	}
}

// deniesNext reports whether a word of denial after a flag belongs to the flag that follows: "x, no y"
// and "x no y" deny y, "x no, y" denies x.
func deniesNext(r *reader, n int, vocabulary []phrase) bool {
	if !slices.Contains(denyBefore, r.peek(n)) || r.comma(n+1) && !r.comma(n) {
		return false
	}
	_, next := longest(r.skip(n+1), vocabulary)
	return next > 0
}

// refuse makes an error that is shown to the user as it stands.
func refuse(format string, args ...any) *Refusal { return &Refusal{Says: fmt.Sprintf(format, args...)} }
