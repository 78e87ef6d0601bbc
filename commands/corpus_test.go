package commands

import (
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"footing/rehab"
)

// corpusSquad adds athletes whose names are words or months.
var corpusSquad = append([]rehab.Athlete{
	{ID: 5, Shirt: 2, Name: "Will Stone", Active: true},
	{ID: 6, Shirt: 4, Name: "May Hill", Active: true},
	{ID: 7, Shirt: 18, Name: "Mark Long", Active: true},
}, squad...)

// fewest is how many rows the corpus must have: an empty table proves nothing.
const fewest = 150

// spoken is one row of the corpus.
type spoken struct {
	line        int
	self        rehab.Athlete // who writes, when it is an athlete
	typed       string
	reads, asks string // one of them
}

var writtenBy = regexp.MustCompile(`\(written by (\d+)\)`)

// corpus reads the table in testdata. Indented lines are for its readers only.
func corpus(t testing.TB) []spoken {
	t.Helper()
	text, err := os.ReadFile("testdata/corpus.txt")
	if err != nil {
		t.Fatal(err)
	}
	var rows []spoken
	var self rehab.Athlete
	for i, line := range strings.Split(string(text), "\n") {
		if strings.HasPrefix(line, " ") {
			continue
		}
		if heading, ok := strings.CutPrefix(line, "# "); ok {
			self = writer(heading)
		}
		if typed, want, ok := strings.Cut(line, " | reads: "); ok {
			rows = append(rows, spoken{line: i + 1, self: self, typed: typed, reads: want})
		}
		if typed, want, ok := strings.Cut(line, " | asks: "); ok {
			rows = append(rows, spoken{line: i + 1, self: self, typed: typed, asks: want})
		}
	}
	return rows
}

// writer is the athlete whose own lines stand under a heading.
func writer(heading string) rehab.Athlete {
	m := writtenBy.FindStringSubmatch(heading)
	for _, a := range corpusSquad {
		if m != nil && strconv.Itoa(a.Shirt) == m[1] {
			return a
		}
	}
	return rehab.Athlete{}
}

// The corpus says what is typed at the pitch and what was meant by it. A row is changed only when the
// meaning was wrong, never to suit the grammar.
func TestCorpus(t *testing.T) {
	reg, l := registry(t), lang(t)
	l.SetRoster(corpusSquad)
	rows := corpus(t)
	for _, row := range rows {
		l.Self = row.self
		call, err := reg.Parse(row.typed, l)
		switch {
		case row.asks != "" && err == nil:
			t.Errorf("line %d: %q was read as %q; it should have been asked about", row.line, row.typed, call.Text())
		case row.asks != "" && !strings.Contains(err.Error(), row.asks):
			t.Errorf("line %d: %q: %q does not say %q", row.line, row.typed, err, row.asks)
		case row.asks == "" && err != nil:
			t.Errorf("line %d: %q is refused: %v", row.line, row.typed, err)
		case row.asks == "" && call.Text() != row.reads:
			t.Errorf("line %d: %q was read as %q, not %q", row.line, row.typed, call.Text(), row.reads)
		case row.asks == "":
			sameAgain(t, reg, l, row.typed, true)
		}
	}
	if len(rows) < fewest {
		t.Errorf("the corpus has %d rows; it needs at least %d", len(rows), fewest)
	}
}
