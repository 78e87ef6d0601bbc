package commands

import (
	"cmp"
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

	Kind     Kind     // what its value is
	About    string   // what it takes in plain words; Usage where empty
	Choices  []string // the closed list it takes one of, nil when there is none
	Min, Max float64  // of a number; the same where any will do

	lead, tail string                                               // what stands before and behind the value in a line: "pain ", "min"
	offers     func(l *Lang, before string) []offer                 // what may be typed behind the finished parts of a list
	many       bool                                                 // takes several things, parted by commas
	rest       bool                                                 // takes the remaining text when nothing else wants it
	colon      bool                                                 // starts at a colon
	exact      bool                                                 // without a colon never starts with a number or a denial
	match      func(r *reader) (n int, set func() error, err error) // words taken at the reader's position
	words      func(l *Lang) []phrase                               // for near spellings and help
	text       func() string                                        // the value as one would type it, "" when not given
	check      func() error                                         // looks at the value once the line is read
	given      bool
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

	free   bool      // some of them are free text
	mended *[]string // what was corrected, to be said
}

// mend says that the word here was read as another.
func (r *reader) mend(as string) {
	says := fmt.Sprintf("%s as %s", r.toks[r.at].raw, as)
	if r.mended != nil && !slices.Contains(*r.mended, says) {
		*r.mended = append(*r.mended, says)
	}
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
	f := oneOf(name, to, strings.Join(list.values, " | "), func(*Lang) []phrase { return list.phrases })
	f.Kind, f.Choices = KindChoice, list.values
	return f
}

// oneOf is a field whose value is the meaning of one phrase.
func oneOf(name string, to *string, usage string, vocabulary func(*Lang) []phrase) Field {
	return Field{
		Name: name, Usage: usage, words: vocabulary, offers: meant(vocabulary),
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

// Keyed is a number after one of some words: "pain 2", "leg 88", "gr2". A value outside lo to hi is
// refused with the range; whole refuses fractions.
func Keyed(name string, to *float64, lo, hi float64, whole bool, keys ...string) Field {
	vocabulary := phrases(name, keys...)
	return keyed(name, to, lo, hi, whole, vocabulary, func(r *reader) (float64, int, error) {
		return afterKey(r, vocabulary, lo, hi)
	})
}

// afterKey reads a number after one of some words.
func afterKey(r *reader, vocabulary []phrase, lo, hi float64) (float64, int, error) {
	if v, ok := gluedNumber(r.peek(0), vocabulary); ok {
		return v, 1, nil
	}
	_, n := longest(r, vocabulary)
	if n == 0 {
		return 0, 0, nil
	}
	v, size, ok := number(r.skip(n), hi)
	if !ok {
		key := strings.Join(vocabulary[0].words, " ")
		return 0, 0, refuse("%s needs a number, for example %s %s.", key, key, rehab.Number((lo+hi)/2))
	}
	return v, n + size, nil
}

func keyed(name string, to *float64, lo, hi float64, whole bool, vocabulary []phrase, read func(*reader) (float64, int, error)) Field {
	given, kind, about := false, KindNumber, "a number"
	if whole {
		kind, about = KindInteger, "a whole number"
	}
	return Field{
		Kind: kind, About: fmt.Sprintf("%s from %s to %s", about, exact(lo), exact(hi)), Min: lo, Max: hi, lead: name + " ",
		Name: name, Usage: name + " N", words: func(*Lang) []phrase { return vocabulary },
		match: func(r *reader) (int, func() error, error) {
			v, n, err := read(r)
			return n, func() error {
				if v < lo || v > hi {
					return refuse("%s %s cannot be: it goes from %s to %s.", name, rehab.Number(v), rehab.Number(lo), rehab.Number(hi))
				}
				if whole && v != float64(int(v)) {
					return refuse("%s is a whole number from %s to %s, not %s.", name, rehab.Number(lo), rehab.Number(hi), exact(v))
				}
				if given && *to != v {
					return refuse("%s is given twice: %s and %s. Say one.", name, rehab.Number(*to), rehab.Number(v))
				}
				*to, given = v, true
				return nil
			}, err
		},
		text: func() string {
			if !given {
				return ""
			}
			return name + " " + exact(*to)
		},
	}
}

// gluedNumber reads a key and its number in one word: "pain3".
func gluedNumber(w string, vocabulary []phrase) (float64, bool) {
	for _, p := range vocabulary {
		if rest, ok := strings.CutPrefix(w, p.words[0]); ok && len(p.words) == 1 {
			if v, err := strconv.Atoi(rest); err == nil && v >= 0 {
				return float64(v), true
			}
		}
	}
	return 0, false
}

var (
	painWords = phrases("pain", "pain")
	noPain    = phrases("pain", "no pain", "nil pain", "without pain", "pain free", "pain none", "pain nil", "pain zero")
	outOfTen  = regexp.MustCompile(`^\d{1,2}/10$`)
	scoreOnly = regexp.MustCompile(`^(?:\d|10)$`)
)

// Pain is 0 to 10: "pain 2", "2/10", "no pain". Where bare, a number alone is the pain too, unless the
// line names the pain elsewhere.
func Pain(to *float64, bare bool) Field {
	return keyed("pain", to, 0, 10, true, painWords, func(r *reader) (float64, int, error) {
		if _, n := longest(r, noPain); n > 0 {
			return 0, n, nil
		}
		if v, n, err := afterKey(r, painWords, 0, 10); n > 0 || err != nil {
			return v, n, err
		}
		w := r.peek(0)
		_, taken, _ := whenAt(r, true)
		if outOfTen.MatchString(w) || bare && taken == 0 && scoreOnly.MatchString(w) && !r.namesPain() {
			v, n, _ := number(r, 10)
			return v, n, nil
		}
		return 0, 0, nil
	})
}

// namesPain reports whether the line says somewhere which number is the pain.
func (r *reader) namesPain() bool {
	return slices.ContainsFunc(r.toks, func(t token) bool {
		_, glued := gluedNumber(t.text, painWords)
		return t.text == "pain" || glued || outOfTen.MatchString(t.text)
	})
}

// romans are how grades are also written.
var romans = map[string]string{"i": "1", "ii": "2", "iii": "3"}

var numberShape = regexp.MustCompile(`^-?\d+(?:\.\d+)?$`)

// number reads a value and the unit that may follow it, the "/10" of a score, the Roman figure of a grade.
func number(r *reader, hi float64) (v float64, n int, ok bool) {
	text := r.peek(0)
	switch hi {
	case 10:
		text = strings.TrimSuffix(text, "/10")
	case 3:
		text = cmp.Or(romans[text], text)
	}
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

// signDenied are the words before a sign that deny it: what is done to a finding is not done to a sign.
var signDenied = append([]string{"didnt", "doesnt", "hasnt", "havent", "isnt", "wasnt", "never"}, denyBefore...)

// deniedPairs are denials of two words.
var deniedPairs = phrases("not", "did not", "does not", "has not", "have not", "is not", "was not")

// Flags is a field that takes any of some phrases, each at most once; "no x" is understood and
// means it is not so.
func Flags(name string, to *[]string, list Words, more func(*Lang) []phrase) Field {
	vocabulary := func(l *Lang) []phrase {
		if more != nil {
			return slices.Concat(more(l), list.phrases)
		}
		return list.phrases
	}
	var not []string
	set := func(list *[]string, other []string, meaning, words string) func() error {
		return func() error {
			if slices.Contains(other, meaning) {
				return refuse("%s is both there and not there in this line. Say one.", words)
			}
			if !slices.Contains(*list, meaning) {
				*list = append(*list, meaning)
			}
			return nil
		}
	}
	kind, only := KindWords, []string(nil)
	if more == nil && len(list.values) == 1 {
		kind, only = KindChoice, list.values
	}
	return Field{
		Name: name, Optional: true, Kind: kind, Choices: only, many: true, words: vocabulary, offers: meant(vocabulary),
		match: func(r *reader) (int, func() error, error) {
			meaning, n := longest(r, vocabulary(r.lang))
			if n == 0 {
				before := boolInt(slices.Contains(signDenied, r.peek(0)))
				if _, pair := longest(r, deniedPairs); pair > 0 {
					before = pair
				}
				key, m := longest(r.skip(before), vocabulary(r.lang))
				if before == 0 || m == 0 || r.parted(before+m) {
					return 0, nil, nil
				}
				return before + m, set(&not, *to, key, r.phrase(before, before+m)), nil
			}
			words := r.phrase(0, n)
			switch w := r.peek(n); {
			case !slices.Contains(denyAfter, w) || r.comma(n) && !r.comma(n+1):
			case r.closes(n):
				return n + 1, set(&not, *to, meaning, words), nil
			default:
				return 0, nil, refuse("Is the “%s” for %s or for what follows? Put a comma before or after it. Nothing was saved.", r.toks[r.at+n].raw, words)
			}
			return n, set(to, not, meaning, words), nil
		},
		text: func() string { return strings.Join(*to, " ") },
	}
}

// closes reports whether the n-th word from here is the last before a comma or the end.
func (r *reader) closes(n int) bool {
	return r.at+n+1 >= len(r.toks) || r.comma(n+1) || strings.HasPrefix(r.peek(n+1), noteMark)
}

// phrase is the words from the n-th up to the m-th from here, for messages.
func (r *reader) phrase(n, m int) string {
	var out []string
	for i := n; i < m; i++ {
		out = append(out, r.peek(i))
	}
	return strings.Join(out, " ")
}

// refuse makes an error that is shown to the user as it stands.
func refuse(format string, args ...any) *Refusal { return &Refusal{Says: fmt.Sprintf(format, args...)} }
