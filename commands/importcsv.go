package commands

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/unicode"

	"footing/rehab"
)

// ImportRow is one athlete in a roster file. What the line leaves out is zero.
type ImportRow struct {
	Line    int // of the file, from 1
	Athlete rehab.Athlete
	Refused string // why the line cannot be taken, "" when it can
}

// The largest roster file.
const (
	maxFileBytes = 1 << 20
	maxFileLines = 5000
)

const columnList = "shirt, name (or first name and last name), position, born, leg, sex, nick"

// columnWords are the ways spreadsheets name the columns.
var columnWords = NewWords(
	Word{"shirt", []string{"#", "number", "no", "shirt number", "shirt no"}},
	Word{"name", []string{"full name", "athlete", "player"}},
	Word{"first name", []string{"first", "given name", "firstname", "forename"}},
	Word{"last name", []string{"last", "surname", "family name", "lastname"}},
	Word{"position", []string{"pos"}},
	Word{"born", []string{"dob", "birth date", "date of birth", "birthdate", "birthday"}},
	Word{"leg", []string{"leg cm", "leg length", "leg length cm"}},
	Word{"sex", []string{"gender"}},
	Word{"nick", []string{"nickname", "nick name"}},
)

// Setting is a line of a team file above its roster: a word and its value.
type Setting struct {
	Line       int
	Key, Value string
}

// teamSettings may stand above the columns; an import passes over them.
var teamSettings = []string{"name", "zone", "report", "minors"}

// rosterFile is a file opened as far as the line that names the columns.
type rosterFile struct {
	settings []Setting
	columns  []string // their meaning; "" for a column without a name
	comma    rune
	header   int    // the line that names the columns, 0 when there is none
	rest     string // what is below it
}

// ReadSettings reads what stands above the columns in a team file, and whether there are columns.
func ReadSettings(text []byte) (settings []Setting, columns bool, err error) {
	f, err := openRoster(text)
	return f.settings, f.header > 0, err
}

// ReadRoster reads a roster from a CSV file. The columns may stand in any order, be separated by
// commas, semicolons or tabs, and have their natural names. A line that cannot be taken is given with
// the reason; the error is for a file that cannot be read at all.
func ReadRoster(text []byte) ([]ImportRow, error) {
	f, err := openRoster(text)
	if err != nil {
		return nil, err
	}
	if err := f.checkHeader(); err != nil {
		return nil, err
	}
	in := f.reader(f.rest)
	var rows []ImportRow
	shirts := map[int]int{}
	for {
		cells, err := in.Read()
		if errors.Is(err, io.EOF) {
			return rows, nil
		}
		var bad *csv.ParseError
		if errors.As(err, &bad) {
			return nil, refuse("line %d: its quotes do not fit. Put the whole cell in quotes, or leave them out. Nothing was taken.", f.header+bad.StartLine)
		}
		if err != nil {
			return nil, fmt.Errorf("reading the roster file: %w", err)
		}
		line, _ := in.FieldPos(0)
		if !slices.ContainsFunc(cells, func(c string) bool { return plainCell(c) != "" }) {
			continue // spreadsheets leave rows of separators behind
		}
		row := f.row(f.header+line, cells)
		if first, twice := shirts[row.Athlete.Shirt]; twice && row.Refused == "" {
			row.Refused = fmt.Sprintf("shirt %d is on line %d already.", row.Athlete.Shirt, first)
		} else if row.Athlete.Shirt != 0 && !twice {
			shirts[row.Athlete.Shirt] = row.Line
		}
		rows = append(rows, row)
	}
}

// openRoster decodes a file and finds the line that names the columns.
func openRoster(raw []byte) (f rosterFile, err error) {
	text, err := plainText(raw)
	if err != nil {
		return f, err
	}
	for n := 1; text != ""; n++ {
		line, below, _ := strings.Cut(text, "\n")
		text = below
		if strings.TrimSpace(line) == "" || strings.HasPrefix(Fold(line), "sep=") {
			continue // some spreadsheets name their separator first
		}
		var cells []string
		if f.comma, cells = separated(line); namesColumns(meanings(cells)) {
			f.columns, f.header, f.rest = meanings(cells), n, below
			for i, c := range cells {
				if f.columns[i] == "" && plainCell(c) != "" {
					return f, refuse("line %d: I know no column “%s”. There are %s.", n, clip(plainCell(c)), columnList)
				}
			}
			return f, nil
		}
		s := Setting{Line: n, Key: plainCell(cells[0])}
		if len(cells) > 1 {
			s.Value = plainCell(cells[1])
		}
		f.settings = append(f.settings, s)
	}
	return f, nil
}

// namesColumns tells the line that names the columns from a setting, whose value may be one of the
// words: "minors,no".
func namesColumns(meanings []string) bool {
	known := slices.DeleteFunc(slices.Clone(meanings), func(m string) bool { return m == "" })
	return len(known) > 1 && slices.Contains(known, "shirt")
}

// checkHeader refuses a file whose columns are not named, or not enough of them.
func (f rosterFile) checkHeader() error {
	other := slices.IndexFunc(f.settings, func(s Setting) bool { return !slices.Contains(teamSettings, Fold(s.Key)) || s.Value == "" })
	if f.header == 0 || other >= 0 {
		line := 1
		if f.header > 0 {
			line = f.settings[other].Line
		}
		return refuse("line %d: the first line must name the columns: %s. shirt and name are needed.", line, columnList)
	}
	for i, c := range f.columns {
		if c != "" && slices.Contains(f.columns[:i], c) {
			return refuse("line %d: the column %s is there twice.", f.header, c)
		}
	}
	whole := slices.Contains(f.columns, "name")
	parts := slices.Contains(f.columns, "first name") || slices.Contains(f.columns, "last name")
	switch {
	case whole && parts:
		return refuse("line %d: there is a name and a first or last name. Leave one of them out.", f.header)
	case !whole && !parts:
		return refuse("line %d: there is no name. The columns are %s.", f.header, columnList)
	}
	return nil
}

func (f rosterFile) reader(text string) *csv.Reader {
	in := csv.NewReader(strings.NewReader(text))
	in.Comma, in.FieldsPerRecord, in.TrimLeadingSpace = f.comma, -1, f.comma != '\t'
	return in
}

// separated splits a line at the separator that gives the most columns.
func separated(line string) (comma rune, cells []string) {
	most := -1
	for _, r := range []rune{',', ';', '\t'} {
		row, err := rosterFile{comma: r}.reader(line).Read()
		if err != nil {
			row = strings.Split(line, string(r))
		}
		known := len(slices.DeleteFunc(meanings(row), func(m string) bool { return m == "" }))
		if score := known*1000 + min(len(row), 999); score > most {
			most, comma, cells = score, r, row
		}
	}
	return comma, cells
}

// meanings are the columns some cells name, "" for each that names none.
func meanings(cells []string) []string {
	out := make([]string, len(cells))
	for i, c := range cells {
		out[i] = whole(plainCell(c), columnWords)
	}
	return out
}

// whole gives the meaning of a text that is one phrase of a list and nothing more.
func whole(text string, list Words) string {
	r := &reader{line: text, toks: tokens(text)}
	if meaning, n := longest(r, list.phrases); n > 0 && n == len(r.toks) {
		return meaning
	}
	return ""
}

// plainText decodes a file: UTF-8, or UTF-16 with its mark, any ends of lines.
func plainText(raw []byte) (string, error) {
	if len(raw) > maxFileBytes {
		return "", refuse("That file is too large: 1 MB at most. Nothing was taken.")
	}
	if s := string(raw[:min(2, len(raw))]); s == "\xff\xfe" || s == "\xfe\xff" {
		wide, err := unicode.UTF16(unicode.BigEndian, unicode.ExpectBOM).NewDecoder().Bytes(raw)
		if err != nil {
			return "", refuse("line 1: I cannot read this encoding. In the spreadsheet save it as CSV UTF-8.")
		}
		raw = wide
	}
	text := strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(strings.TrimPrefix(string(raw), "\ufeff"))
	if i := strings.IndexFunc(text, func(r rune) bool { return r == utf8.RuneError || r == 0 }); i >= 0 {
		return "", refuse("line %d: I cannot read this encoding. In the spreadsheet save it as CSV UTF-8. Nothing was taken.", 1+strings.Count(text[:i], "\n"))
	}
	if strings.Count(strings.TrimRight(text, "\n"), "\n") >= maxFileLines {
		return "", refuse("That file is too long: 5,000 lines at most. Nothing was taken.")
	}
	return text, nil
}
