package commands

import (
	"errors"
	"strings"
	"testing"
)

// Each row is a line about the roster as it is typed and what it must be read as. Common practice:
// the short words are those of a team sheet.
func TestRosterLinesAreReadAs(t *testing.T) {
	reg, l := registry(t), lang(t)
	for _, c := range []struct{ typed, read string }{
		{"change 7 shirt 17", "change 7 shirt 17"},
		{"7 change shirt 17", "change 7 shirt 17"},
		{"change 7 number 17", "change 7 shirt 17"},
		{"change mez shirt 17", "change 7 shirt 17"},
		{"change 7 name Mere Tau-Hale", "change 7 name Mere Tau-Hale,"},
		{"change 7 NAME Mere Tau-Hale position Lock", "change 7 name Mere Tau-Hale, position Lock,"},
		{"change 7 pos full back, nick Mezza", "change 7 position full back, nick Mezza,"},
		{"change 7 born 1999-04-30 leg 88,5cm", "change 7 born 1999-04-30 leg 88.5"},
		{"change 7 dob 1999", "change 7 born 1999"},
		{"change 7 sex female", "change 7 female"},
		{"change 7 nickname Mez female", "change 7 nick Mez, female"},
		{"change 7 shrit 17", "change 7 shirt 17"},
		{"change 7", "change 7"},
		{"remove 7", "remove 7"},
		{"remove mere tau", "remove 7"},
		{"roster", "roster"},
		{"squad", "roster"},
		{"import", "import"},
		{"import dry run", "import dry"},
		{"past 7 left sprains 2, surgery, lax note: ligament repair", "past 7 left sprains 2 surgery lax note: ligament repair"},
		{"past 7 lt 1 sprain", ""},
		{"past 7 r operated", "past 7 right surgery"},
		{"past 7 hypermobile, no surgery", "past 7 lax"},
		{"past 7 left surgery no, lax", "past 7 left lax"},
		{"past 7 left nothing", "past 7 left none"},
		{"add 31 Pia Lund, wing, sex female", "add 31 Pia Lund, female wing,"},
	} {
		call, err := reg.Parse(c.typed, l)
		switch {
		case c.read == "" && err == nil:
			t.Errorf("%q was read as %q; it should have been refused", c.typed, call.Text())
		case c.read != "" && err != nil:
			t.Errorf("%q: %v", c.typed, err)
		case c.read != "" && call.Text() != c.read:
			t.Errorf("%q was read as %q, not %q", c.typed, call.Text(), c.read)
		}
	}
}

func TestRosterRefusals(t *testing.T) {
	reg, l := registry(t), lang(t)
	for _, c := range []struct{ typed, says string }{
		{"change shirt 17", "Who?"},
		{"change mere shirt 17", "Which mere?"},
		{"change 99 shirt 17", "wears 99"},
		{"change 7 shirt", "needs a number"},
		{"change 7 shirt 0", "from 1 to 999"},
		{"change 7 shirt 7.5", "whole number"},
		{"change 7 shirt 17 shirt 18", "given twice"},
		{"change 7 leg 12", "from 40 to 140"},
		{"change 7 born 1999-02-30", "born needs a year or a date"},
		{"change 7 wing", "“wing”"},
		{"change 7 female male", "female and male"},
		{"remove", "Who?"},
		{"import everything", "“everything”"},
		{"past 7 left sprains 0", "from 1 to 20"},
		{"past 7 left sprains 1.5", "whole number"},
		{"past 7 left wobbly", "“wobbly”"},
	} {
		call, err := reg.Parse(c.typed, l)
		if err == nil {
			t.Errorf("%q was read as %q; it should have been refused", c.typed, call.Text())
			continue
		}
		var refusal *Refusal
		var question *Question
		if !errors.As(err, &refusal) && !errors.As(err, &question) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q: %q does not say %q", c.typed, err, c.says)
		}
	}
}
