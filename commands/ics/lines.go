package ics

import (
	"bytes"
	"strings"
	"unicode/utf8"

	ical "github.com/arran4/golang-ical"
)

// line is a content line put together again, and where it begins in the file.
type line struct {
	no   int
	text string
}

// unfold puts folded lines together: one that begins with a space or a tab goes on the line before, and a
// fold may part the bytes of one letter (RFC 5545, 3.1). Empty lines carry nothing.
func unfold(text []byte) ([]line, error) {
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	var out []line
	var whole []byte
	from := 0
	end := func() error {
		if from == 0 {
			return nil
		}
		if !utf8.Valid(whole) || bytes.IndexByte(whole, 0) >= 0 {
			return fault(from, "I cannot read its letters; a calendar file is UTF-8 text")
		}
		out = append(out, line{from, string(whole)})
		from, whole = 0, nil
		return nil
	}
	for no := 1; len(text) > 0; no++ {
		row, rest, _ := bytes.Cut(text, []byte("\n"))
		text = rest
		row = bytes.TrimSuffix(row, []byte("\r"))
		switch {
		case from > 0 && len(row) > 0 && (row[0] == ' ' || row[0] == '\t'):
			whole = append(whole, row[1:]...)
			continue
		case len(bytes.TrimSpace(row)) == 0:
			continue
		}
		if err := end(); err != nil {
			return nil, err
		}
		from, whole = no, bytes.Clone(row)
	}
	return out, end()
}

// property is a content line taken apart.
type property struct {
	line  int
	name  string
	value string
	par   map[string][]string
}

// param gives a parameter's first value, "" when it has none.
func (p property) param(name string) string {
	for key, values := range p.par {
		if strings.EqualFold(key, name) && len(values) > 0 {
			return values[0]
		}
	}
	return ""
}

// longestLine is the longest line that is read, in bytes: what is longer holds nothing of a session.
const longestLine = 16 << 10

// property takes a line apart. ok is false for a line that is no property.
func (l line) property() (property, bool) {
	if len(l.text) > longestLine {
		return property{}, false
	}
	p, err := ical.ParseProperty(ical.ContentLine(l.name() + l.text[len(l.name()):]))
	if err != nil || p == nil || p.IANAToken != l.name() {
		return property{}, false
	}
	return property{l.no, p.IANAToken, strings.TrimSpace(p.Value), p.ICalParameters}, true
}

// name is the name a line begins with, in capitals.
func (l line) name() string {
	n := strings.IndexAny(l.text, ":;")
	if n < 0 {
		n = len(l.text)
	}
	return strings.ToUpper(l.text[:n])
}
