package commands

import (
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/runes"
	"golang.org/x/text/transform"
	"golang.org/x/text/unicode/norm"
)

// Fold lowers a text and strips accents and compatibility forms, so that "Zoë", "zoe" and "ＺＯＥ"
// compare equal.
func Fold(s string) string {
	if plain(s) { // most words by far: nothing to strip
		return strings.ToLower(s)
	}
	strip := transform.Chain(norm.NFKD, runes.Remove(runes.In(unicode.Mn)), norm.NFC)
	out, _, err := transform.String(strip, s)
	if err != nil {
		out = s
	}
	return strings.ToLower(out)
}

// plain reports whether a text has no letters but those of ASCII.
func plain(s string) bool {
	for i := range len(s) {
		if s[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// token is one word of a line: folded for comparing, and where it stands in the line, so that free
// text can be taken as it was written.
type token struct {
	text string
	raw  string // as written, for messages
	from int    // byte offset in the line
}

// clean removes what a phone keyboard or a copied text adds and nobody means: odd spaces, curly
// quotes, long dashes, invisible characters.
func clean(line string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\u2019' || r == '\u2018' || r == '\u02bc' || r == '`':
			return '\''
		case r == '\u2013' || r == '\u2014' || r == '\u2212' || r == '\u2010' || r == '\u2011':
			return '-'
		case unicode.IsSpace(r):
			return ' '
		case unicode.Is(unicode.Cf, r) || unicode.IsControl(r):
			return -1
		}
		return r
	}, line)
}

// The shapes a word may have, tried in this order at each position.
var shapes = regexp.MustCompile("(?i)" + strings.Join([]string{
	`^\d{4}-\d{2}-\d{2}\b`,               // a date
	`^\d{1,2}/\d{1,2}/(?:\d{4}|\d{2})\b`, // a day, a month and a year
	`^\d{1,2}[.-]\d{1,2}[.-]\d{4}\b`,
	`^\d{1,2}:\d{2}(?:[ap]m)?\b`,                  // a time
	`^[-+]?\d+(?:[.,]\d+)?\+?/\d+(?:[.,]\d+)?\+?`, // a pair of values
	`^\d+(?:st|nd|rd|th)(?:-\p{L}+)*\b`,           // an ordinal, with hyphens
	`^-?\d+(?:[.,]\d+)?\+?(?:[a-z%"']+)?`,         // a value, with its unit
	`^#\d+`,                                       // a shirt
	`^[lr]\d+(?:[.,]\d+)?\+?\b`,                   // a side and its value
	`^(?:left|lt|l) ?/ ?(?:right|rt|r)\b`,         // both sides, in this order
	`^(?:right|rt|r) ?/ ?(?:left|lt|l)\b`,
	`^n/a\b`, `^w/o\b`, `^w/`, // words with a slash in them
	`^[-+] ?i?ve\b`, // negative, positive
	`^[\p{L}\p{M}][\p{L}\p{M}\p{N}']*(?:[-_][\p{L}\p{M}\p{N}][\p{L}\p{M}\p{N}']*)*`, // a word, with hyphens
	`^\++`, // however many
	`^.`,
}, "|"))

var ordinal = regexp.MustCompile(`(?i)^\d+(?:st|nd|rd|th)(?:-\p{L}+)*$`)

var sideAndValue = regexp.MustCompile(`^[lr]\d+(?:[.,]\d+)?\+?$`)

// valueAndSide is a value with its side behind it: "12R", "7l".
var valueAndSide = regexp.MustCompile(`^(-?\d+(?:\.\d+)?\+?)([lr])$`)

var valueWithUnit = regexp.MustCompile(`^(-?\d+(?:[.,]\d+)?\+?)([a-z%"']+)$`)

// pairs are two values with a slash between them, however spaced and with whatever unit: "9.5 / 12",
// "4s/60s", "9.5cm/12cm".
var pairs = regexp.MustCompile(`(?i)(\d\+?) ?(?:cm|sec|s)? ?/ ?(\d+(?:[.,]\d+)?\+?)(?: ?(?:cm|sec|s)\b)?`)

// lists are whole numbers parted by commas without space: "10,12,14" are three values, "9,5" is one.
var lists = regexp.MustCompile(`\b\d+(?:,\d+){2,}\b`)

// tidy writes values the one way the rest of the grammar reads them.
func tidy(line string) string {
	line = pairs.ReplaceAllString(line, "$1/$2")
	return lists.ReplaceAllStringFunc(line, func(s string) string { return strings.ReplaceAll(s, ",", " ") })
}

// tokens splits a cleaned line into words. Hyphens inside words split them ("knee-to-wall" and
// "knee to wall" are the same), apostrophes vanish and the s of "Mez's" with them, commas only
// separate, a decimal comma becomes a point, and a unit or a side stuck to a number comes off it.
func tokens(line string) []token {
	var out []token
	for i := 0; i < len(line); {
		m := shapes.FindString(line[i:])
		if m == "" {
			i++
			continue
		}
		raw := line[i : i+len(m)]
		out = append(out, split(raw, i)...)
		i += len(m)
	}
	return out
}

func split(raw string, at int) []token {
	first := []rune(raw)[0]
	switch {
	case strings.ContainsAny(raw[:1], " ,;.()!*_~|\"'/=&"):
		return nil
	case ordinal.MatchString(raw):
		return hyphened(raw, at)
	case spelled[unspaced(raw)] != "":
		return []token{{spelled[unspaced(raw)], raw, at}}
	case dayMonthYear.MatchString(raw):
		return []token{{raw, raw, at}}
	case unicode.IsDigit(first) || (first == '-' || first == '+') && len(raw) > 1 && raw[1] >= '0' && raw[1] <= '9':
		text := strings.ReplaceAll(Fold(raw), ",", ".")
		if m := valueWithUnit.FindStringSubmatch(text); m != nil && units[m[2]] != "" {
			return []token{{m[1], raw, at}, {m[2], raw, at + len(m[1])}}
		}
		if m := valueAndSide.FindStringSubmatch(text); m != nil {
			return []token{{m[1], raw, at}, {m[2], raw, at + len(m[1])}}
		}
		return []token{{text, raw, at}}
	case sideAndValue.MatchString(strings.ToLower(raw)):
		return []token{{strings.ToLower(raw[:1]), raw, at}, {strings.ReplaceAll(raw[1:], ",", "."), raw, at + 1}}
	case unicode.IsLetter(first):
		return hyphened(raw, at)
	case first == '+':
		return []token{{"+", raw, at}}
	}
	if text := Fold(raw); text != "" { // a mark that only changes another sign leaves nothing
		return []token{{text, raw, at}}
	}
	return nil
}

// spelled are shapes that stand for a word.
var spelled = map[string]string{
	"-ve": "neg", "-ive": "neg", "+ve": "pos", "+ive": "pos", "@": "at", "w/": "with", "w/o": "without",
	"l/r": "l/r", "lt/rt": "l/r", "left/right": "l/r", "r/l": "r/l", "rt/lt": "r/l", "right/left": "r/l",
}

func unspaced(raw string) string { return strings.ToLower(strings.ReplaceAll(raw, " ", "")) }

// glued reports whether the n-th word from here was typed in one piece with the word before it.
func (r *reader) glued(n int) bool {
	i := r.at + n
	return i > 0 && i < len(r.toks) && r.toks[i].from == r.toks[i-1].from+len(r.toks[i-1].text)
}

// hyphened splits a word at its hyphens.
func hyphened(raw string, at int) []token {
	var out []token
	off := 0
	for _, part := range strings.FieldsFunc(raw, func(r rune) bool { return r == '-' || r == '_' }) {
		off += strings.Index(raw[off:], part)
		if text := strings.ReplaceAll(strings.TrimSuffix(Fold(part), "'s"), "'", ""); text != "" {
			out = append(out, token{text, part, at + off})
		}
		off += len(part)
	}
	return out
}

// units are the ways a unit is written, and the protocol's name for it.
var units = map[string]string{
	"cm": "cm", "cms": "cm", "centimetres": "cm",
	"s": "s", "sec": "s", "secs": "s", "seconds": "s", "second": "s",
	"reps": "reps", "rep": "reps",
	"min": "min", "mins": "min", "minutes": "min",
	"ms": "ms", "mm": "mm", "m": "m", "%": "%", "kg": "kg", "in": "in", "inches": "in",
	"percent": "%", "contacts": "contacts", "hops": "hops",
}

// words splits a vocabulary phrase the way tokens splits a line.
func words(phrase string) []string {
	var out []string
	for _, t := range tokens(clean(phrase)) {
		out = append(out, t.text)
	}
	return out
}
