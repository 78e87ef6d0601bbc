package commands

import (
	"errors"
	"reflect"
	"strings"
	"testing"

	"footing/rehab"
)

// boundAgain checks that the values of a line, given as options, make the same call.
func boundAgain(t *testing.T, reg *Registry, l *Lang, line string) {
	t.Helper()
	call, err := reg.Parse(line, l)
	if err != nil {
		t.Fatalf("%q: %v", line, err)
	}
	options := call.Options()
	bound, err := reg.Bind(call.Command.Name, options, l)
	if err != nil {
		t.Errorf("%q as options %q: %v", line, options, err)
		return
	}
	// what a line says is compared as the line is kept
	again, err := reg.Parse(call.Text(), l)
	if err != nil {
		t.Fatal(err)
	}
	if bound.Command != call.Command || bound.Text() != call.Text() || !reflect.DeepEqual(bound.Args, again.Args) {
		t.Errorf("%q as options %q\nis %q %+v\nnot %q %+v", line, options, bound.Text(), bound.Args, call.Text(), again.Args)
	}
}

// A command says the same by options as by text: every example, and all that is typed at the pitch.
func TestOptionsSayWhatLinesSay(t *testing.T) {
	reg, l := registry(t), lang(t)
	l.SetRoster(corpusSquad)
	for _, c := range reg.Commands() {
		for _, e := range c.Examples {
			boundAgain(t, reg, l, e)
		}
	}
	for _, row := range corpus(t) {
		if row.asks == "" {
			l.Self = row.self
			boundAgain(t, reg, l, row.typed)
		}
	}
}

// Each row is what is typed into options, and the line it must be read as.
func TestOptionsAreReadAs(t *testing.T) {
	reg, l := registry(t), lang(t)
	for _, c := range []struct {
		command string
		options map[string]string
		read    string
	}{
		{"sprain", map[string]string{"athlete": "Mere Tau", "side": "L", "mechanism": "rolled", "grade": "II"}, "sprain 7 left inversion grade 2"},
		{"sprain", map[string]string{"athlete": "7 Mere Tau", "side": "left", "when": "yesterday 18:40"}, "sprain 7 left 2026-03-02 18:40"},
		{"sprain", map[string]string{"athlete": "zoe", "side": "rigth", "contact": ""}, "sprain 23 right"},
		{"screen", map[string]string{"athlete": "#7", "findings": "tender none, walked, squeeze -, er neg"}, "screen 7 tender none, walked, no squeeze, no external-rotation"},
		{"screen", map[string]string{"athlete": "7", "findings": "walks and no squeeze"}, "screen 7 walks, no squeeze"},
		{"test", map[string]string{"athlete": "7", "tests": "ktw L 9,5 R 12, calf 18 / 27"}, "test 7 knee-to-wall L 9.5 R 12, calf-raise 18/27"},
		{"test", map[string]string{"squad": "ktw l/r: 7 9/12, joss 10/11", "note": "dry"}, "test knee-to-wall : 7 L 9 R 12, 12 L 10 R 11 note: dry"},
		{"morning", map[string]string{"athlete": "7", "pain": "2", "swelling": "same"}, "morning 7 pain 2 same"},
		{"morning", map[string]string{"athlete": "7", "pain": "pain 2"}, "morning 7 pain 2"},
		{"morning", map[string]string{"athlete": "7", "pain": "none"}, "morning 7 pain 0"},
		{"morning", map[string]string{"pain": "2/10"}, "morning pain 2"},
		{"done", map[string]string{"athlete": "7", "pain": "4", "did": "partly", "why": "pain 9 and no time"}, "done 7 some pain 4 : pain 9 and no time"},
		{"effort", map[string]string{"athlete": "7", "minutes": "90", "effort": "6"}, "effort 7 90min effort 6"},
		{"effort", map[string]string{"athlete": "7", "minutes": "90 minutes", "effort": "6"}, "effort 7 90min effort 6"},
		{"plan", map[string]string{"athlete": "7", "minutes": "15", "kit": "ball, no-band", "why": "why"}, "plan 7 15min no-band ball why"},
		{"modified", map[string]string{"athlete": "7", "limits": "contact, sprinting", "until": "fri", "review": "10 March"}, "modified 7 no contact, no sprinting until 2026-03-06 review 2026-03-10"},
		{"modified", map[string]string{"athlete": "7", "limits": "no contact", "until": "until fri"}, "modified 7 no contact until 2026-03-06"},
		{"limit", map[string]string{"athlete": "7", "limits": "contact", "until": "tomorow"}, "limit 7 no contact until 2026-03-04"},
		{"add", map[string]string{"who": "31 Ann-Marie O’Dell", "born": "1999", "leg": "88", "position": "full back", "nickname": "Annie"}, "add 31 Ann-Marie O'Dell, born 1999 leg 88 nick Annie, full back,"},
		{"change", map[string]string{"athlete": "7", "shirt": "17", "name": "Mere Hale", "position": "position lock"}, "change 7 shirt 17 name Mere Hale, position lock,"},
		{"advance", map[string]string{"athlete": "7", "reason": ": moves well"}, "advance 7 : : moves well"},
		{"stay", map[string]string{"athlete": "7", "reason": "7 out of ten, left: sore"}, "stay 7 : 7 out of ten, left: sore"},
		{"note", map[string]string{"athlete": "7", "text": "note: likes lace-ups"}, "note 7 : note: likes lace-ups"},
		{"who", map[string]string{"activity": "7"}, "who : 7"},
	} {
		call, err := reg.Bind(c.command, c.options, l)
		if err != nil {
			t.Errorf("%s %q: %v", c.command, c.options, err)
			continue
		}
		if got := call.Text(); got != c.read {
			t.Errorf("%s %q was read as %q, not %q", c.command, c.options, got, c.read)
		}
	}
}

// What is typed into one option stays there: it is that, or it is refused.
func TestOneOptionIsNeverReadAsAnother(t *testing.T) {
	reg, l := registry(t), lang(t)
	call, err := reg.Bind("morning", map[string]string{"athlete": "7", "pain": "1", "note": "pain 9 left\nsprain 9 left\u2028note: limp gave way"}, l)
	if err != nil {
		t.Fatal(err)
	}
	want := morningArgs{Athlete: squad[0], Pain: 1, Note: "pain 9 left sprain 9 left note: limp gave way"}
	if got := *call.Args.(*morningArgs); !reflect.DeepEqual(got, want) {
		t.Errorf("read as %+v, not %+v", got, want)
	}
	if strings.ContainsAny(call.Text(), "\n\r\u2028") {
		t.Errorf("the line %q is more than one", call.Text())
	}
	for _, c := range []struct {
		command string
		options map[string]string
		says    []string
	}{
		{"sprain", map[string]string{"athlete": "7", "side": "left match"}, []string{"side: ", "“match”", "left | right"}},
		{"sprain", map[string]string{"athlete": "7 left", "side": "left"}, []string{"athlete: ", "“left”"}},
		{"sprain", map[string]string{"athlete": "mere left", "side": "left"}, []string{"“left”"}},
		{"sprain", map[string]string{"athlete": "7", "side": "left", "mechanism": "inverson note: x"}, []string{"mechanism: ", "“note”"}},
		{"screen", map[string]string{"athlete": "7", "findings": "walks note: fine"}, []string{"findings: ", "“note”"}},
		{"modified", map[string]string{"athlete": "7", "limits": "contact until fri"}, []string{"limits: ", "“until”"}},
		{"modified", map[string]string{"athlete": "7", "limits": "illness"}, []string{"is a cause"}},
		{"add", map[string]string{"who": "7 Mere Tau, wing"}, []string{"who: ", "“wing”"}},
		{"add", map[string]string{"who": "31 Al Bo", "position": "wing, born 1999"}, []string{"position: ", "“born”"}},
	} {
		call, err := reg.Bind(c.command, c.options, l)
		if err == nil {
			t.Errorf("%s %q was read as %q; it should have been refused", c.command, c.options, call.Text())
			continue
		}
		for _, says := range c.says {
			if !strings.Contains(err.Error(), says) {
				t.Errorf("%s %q: %q does not say %q", c.command, c.options, err, says)
			}
		}
	}
}

// What cannot be read is named with its option; the checks of a line are the checks of options.
func TestOptionRefusals(t *testing.T) {
	reg, l := registry(t), lang(t)
	for _, c := range []struct {
		command string
		options map[string]string
		says    string
	}{
		{"frobnicate", nil, "“frobnicate”"},
		{"ready", map[string]string{"athlete": "7", "colour": "red"}, "no option “colour”"},
		{"ready", nil, "Who?"},
		{"ready", map[string]string{"athlete": "99"}, "wears 99"},
		{"ready", map[string]string{"athlete": "Joos"}, "12 Joss Okafor"},
		{"morning", map[string]string{"athlete": "7", "pain": "11"}, "from 0 to 10"},
		{"morning", map[string]string{"athlete": "7", "pain": "2.5"}, "whole number"},
		{"morning", map[string]string{"athlete": "7", "pain": "2 3"}, "given twice"},
		{"morning", map[string]string{"athlete": "7", "pain": "2", "signs": "wobbly"}, "signs: I do not know “wobbly”"},
		{"morning", map[string]string{"athlete": "7", "pain": "2", "swelling": "foot is numb"}, "red flag"},
		{"morning", map[string]string{"athlete": "7", "pain": "2", "swelling": ",;"}, "swelling: I do not know “,;”"},
		{"sprain", map[string]string{"athlete": "7", "side": "left", "grade": "x"}, "grade needs a number"},
		{"sprain", map[string]string{"athlete": "7", "side": "left", "when": "tomorrow"}, "“tomorrow”"},
		{"sprain", map[string]string{"athlete": "7", "side": "left", "when": "19:30"}, "still to come"},
		{"screen", map[string]string{"athlete": "7", "findings": "squeeze and er neg"}, "Is squeeze denied too?"},
		{"screen", map[string]string{"athlete": "7", "findings": "walks, cannot-walk"}, "both there and not there"},
		{"test", map[string]string{"athlete": "7", "tests": "ktw L 95"}, "from 0 to 30 cm"},
		{"test", map[string]string{"tests": "ktw 9/12"}, "Who?"},
		{"test", map[string]string{"squad": "ktw: 7 9/12", "when": "17:40"}, "I do not know"}, // a squad's line takes no time
		{"effort", map[string]string{"athlete": "7", "minutes": "0", "effort": "3"}, "0 minutes is not possible"},
		{"modified", map[string]string{"athlete": "7", "limits": "contact", "until": "whenever"}, "until needs a day"},
		{"add", map[string]string{"who": "Mere Tau"}, "shirt number"},
		{"note", map[string]string{"athlete": "7", "text": strings.Repeat("x", maxLine+1)}, "too long"},
		{"note", map[string]string{"athlete": "7", "text": strings.Repeat("x", maxLine)}, "too long"},
		{"note", map[string]string{"athlete": "7", "text": strings.Repeat("x ", maxWords)}, "too many words"},
		{"note", map[string]string{"athlete": "7", "text": "()"}, "text: I do not know “()”"},
	} {
		call, err := reg.Bind(c.command, c.options, l)
		if err == nil {
			t.Errorf("%s %q was read as %q; it should have been refused", c.command, c.options, call.Text())
			continue
		}
		var refusal *Refusal
		if !errors.As(err, &refusal) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s %q: %q does not say %q", c.command, c.options, err, c.says)
		}
	}
}

// Free text that a line would take apart is refused: what is kept is the line.
func TestTextThatALineWouldTakeApartIsRefused(t *testing.T) {
	type args struct {
		Why, Note string
		Side      rehab.Side
	}
	odd := New(Def[args]{Name: "odd", Summary: "s", Needs: rehab.Ask, Privacy: Anyone, Examples: []string{"odd: x"},
		Fields: func(a *args) []Field {
			return []Field{Opt(Rest("why", ": why", &a.Why)), Opt(Side(&a.Side)), Note(&a.Note)}
		}})
	reg, err := NewRegistry(Help, odd)
	if err != nil {
		t.Fatal(err)
	}
	for _, options := range []map[string]string{{"why": "see note: pain"}, {"why": "note:"}, {"why": "wet", "side": "left"}} {
		if call, err := reg.Bind("odd", options, lang(t)); err == nil {
			t.Errorf("%q was read as %q", options, call.Text())
		}
	}
	for _, options := range []map[string]string{{"why": "wet, left"}, {"side": "left", "note": "why: dry note: cold"}} {
		call, err := reg.Bind("odd", options, lang(t))
		if err != nil || *call.Args.(*args) != (args{options["why"], options["note"], rehab.Side(options["side"])}) {
			t.Errorf("%q was read as %+v, %v", options, call.Args, err)
		}
	}
}

// Each answer of a question is the whole line, with all the other options in it.
func TestAnAmbiguousOptionOffersWholeLines(t *testing.T) {
	reg, l := registry(t), lang(t)
	_, err := reg.Bind("sprain", map[string]string{"athlete": "mere", "side": "left", "grade": "2", "note": "wet pitch"}, l)
	var q *Question
	if !errors.As(err, &q) || len(q.Options) != 2 {
		t.Fatalf("want a question with two answers, got %v", err)
	}
	if o := q.Options[1]; o.Label != "9 Mere Poole" || o.Line != "sprain 9 left grade 2 note: wet pitch" || o.Athlete != 2 {
		t.Errorf("second answer: %+v", o)
	}
	_, err = reg.Bind("test", map[string]string{"squad": "ktw l/r: mere 9/12, 12 10/11", "note": "dry"}, l)
	if !errors.As(err, &q) || q.Options[0].Line != "test knee-to-wall : 7 L 9 R 12, 12 L 10 R 11 note: dry" {
		t.Errorf("of a squad: %v %+v", err, q)
	}
	_, err = reg.Bind("test", map[string]string{"squad": "ktw l/r: mere 9/12, mere 10/11"}, l)
	if err == nil || !strings.Contains(err.Error(), "Say which: 7 Mere Tau, 9 Mere Poole") {
		t.Errorf("two names at once: %v", err)
	}
	_, err = reg.Bind("morning", map[string]string{"athlete": "mere", "pain": "12"}, l)
	if err == nil || !strings.Contains(err.Error(), "from 0 to 10") {
		t.Errorf("what is wrong besides is said first, got %v", err)
	}
	if _, err = reg.Bind("effort", map[string]string{"athlete": "mere", "minutes": "90"}, l); err == nil || !strings.Contains(err.Error(), "what effort?") {
		t.Errorf("what is missing is said first, got %v", err)
	}
}

// An athlete answers for themselves.
func TestAnAthletesOwnOptions(t *testing.T) {
	reg, l := registry(t), lang(t)
	l.Self = squad[0]
	l.SetRoster(squad[:1])
	for athlete, want := range map[string]string{"": "morning pain 3 same", "7": "morning 7 pain 3 same", "mez": "morning 7 pain 3 same"} {
		call, err := reg.Bind("morning", map[string]string{"athlete": athlete, "pain": "3", "swelling": "same"}, l)
		if err != nil || call.Text() != want {
			t.Errorf("athlete %q: %v", athlete, err)
		}
	}
	for _, athlete := range []string{"9", "12", "Joss", "Poole"} {
		if call, err := reg.Bind("morning", map[string]string{"athlete": athlete, "pain": "3"}, l); err == nil {
			t.Errorf("athlete %q was read as %q", athlete, call.Text())
		}
	}
	if got := reg.Complete("morning", "athlete", "", l); !reflect.DeepEqual(got, []Suggestion{{"7 Mere Tau", "7"}}) {
		t.Errorf("suggested: %v", got)
	}
}

func FuzzBind(f *testing.F) {
	reg, l := registry(f), lang(f)
	l.SetRoster(corpusSquad)
	seed := func(line string) {
		call, err := reg.Parse(line, l)
		if err != nil {
			return
		}
		packed := ""
		options := call.Options()
		for _, field := range call.Fields {
			packed += options[field.Name] + "\x1f"
		}
		f.Add(call.Command.Name, packed)
	}
	for _, c := range reg.Commands() {
		for _, e := range c.Examples {
			seed(e)
		}
	}
	for _, row := range corpus(f) {
		seed(row.typed)
	}
	f.Add("morning", "mere\x1fleft\x1f2\x1f\x1f\x1f\x1fpain 9 note: x\nsprain 7 left")
	f.Fuzz(func(t *testing.T, command, packed string) {
		cmd := reg.named(command)
		if cmd == nil {
			return
		}
		options, parts := map[string]string{}, strings.Split(packed, "\x1f")
		for i, field := range cmd.begin().Fields {
			if i < len(parts) {
				options[field.Name] = parts[i]
			}
		}
		call, err := reg.Bind(command, options, l)
		var q *Question
		switch {
		case errors.As(err, &q):
			for _, o := range q.Options {
				sameAgain(t, reg, l, o.Line, true)
			}
		case err != nil:
			if _, ok := err.(*Refusal); !ok {
				t.Fatalf("%v is not meant for a user", err)
			}
		default:
			again, err := reg.Parse(call.Text(), l)
			if err != nil || again.Command != call.Command || !reflect.DeepEqual(again.Args, call.Args) {
				t.Fatalf("%q bound as %q\nis read as %+v (%v)\nnot as %+v", options, call.Text(), again, err, call.Args)
			}
			for _, field := range call.Fields {
				if strings.TrimSpace(clean(options[field.Name])) == "" && field.text() != "" {
					t.Fatalf("%q: %s was not given and is %q", options, field.Name, field.text())
				}
			}
		}
	})
}
