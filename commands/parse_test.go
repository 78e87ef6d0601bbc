package commands

import (
	"errors"
	"reflect"
	"strings"
	"testing"
)

// Each row is a line as it is typed and what it must be read as, written the way the bot would write
// it. Common practice: these are the ways clinicians abbreviate at pitch side.
func TestLinesAreReadAs(t *testing.T) {
	reg, l := registry(t), lang(t)
	for _, c := range []struct{ typed, read string }{
		{"sprain 7 left match inversion no-contact", "sprain 7 left match inversion no-contact"},
		{"7 sprain left match inversion no-contact", "sprain 7 left match inversion no-contact"},
		{"SPRAIN #7, LT, Match; rolled, non contact", "sprain 7 left match inversion no-contact"},
		{"sprain Mez l game", "sprain 7 left match"},
		{"mez sprain left", "sprain 7 left"},
		{"sprain mere tau r training landing direct grade 2", "sprain 7 right training landing direct grade 2"},
		{"sprain zoe right", "sprain 23 right"},
		{"sprain ZOË right", "sprain 23 right"},
		{"sprain 7 left yesterday 18:40", "sprain 7 left 2026-03-02 18:40"},
		{"sprain 7 left 18:40", "sprain 7 left 2026-03-03 18:40"},
		{"sprain 7 left yesterday", "sprain 7 left 2026-03-02 12:00"},
		{"sprain 7 left mon", "sprain 7 left 2026-03-02 12:00"},
		{"sprain 7 left 2026-03-01", "sprain 7 left 2026-03-01 12:00"},
		{"sprain 7 left note: heard a click, limps", "sprain 7 left note: heard a click, limps"},
		{"sprain 7 left inversion tender none", "sprain 7 left inversion tender none"},
		{"screen 7 squeeze -, er -", "screen 7 no squeeze, no external-rotation"},
		{"screen 7 squeeze neg er neg", "screen 7 no squeeze, no external-rotation"},
		{"screen 7 no squeeze no er", "screen 7 no squeeze, no external-rotation"},
		{"screen 7 squeeze no, er no", "screen 7 no squeeze, no external-rotation"},
		{"screen 7 not tender", "screen 7 tender none"},
		{"screen 7 squeeze-, er+", "screen 7 no squeeze, external-rotation +"},
		{"screen 7 squeeze – er –", "screen 7 no squeeze, no external-rotation"},
		{"screen 7 tender lat mal, walked, can't walk", "screen 7 tender bone-outer, walked, cannot-walk"},
		{"screen 7 couldn’t walk", "screen 7 could-not-walk"},
		{"screen 7 wb, nv intact", "screen 7 walks, circulation ok"},
		{"screen 7 nwb", "screen 7 cannot-walk"},
		{"screen 7 circulation -", "screen 7 circulation not ok"},
		{"screen 7 no modifiers", "screen 7 no modifiers"},
		{"screen 7 sober, not pregnant", "screen 7 sober, no pregnant"},
		{"screen 7 walks no squeeze", "screen 7 walks, no squeeze"},
		{"screen 7 navicular not tender", "screen 7 no tender navicular"},
		{"screen 7 no numb, numb foot no", "screen 7 no numb"},
		{"screen 7 u18", "screen 7 under-18"},
		{"screen 7 Thompson negative", "screen 7 calf-squeeze ok"},
		{"test 7 knee-to-wall L 9.5 R 12", "test 7 knee-to-wall L 9.5 R 12"},
		{"test 7 ktw L 9,5cm R 12 cm", "test 7 knee-to-wall L 9.5 R 12"},
		{"test 7 ktw l9.5 r12", "test 7 knee-to-wall L 9.5 R 12"},
		{"test 7 ktw left: 9.5, right: 12", "test 7 knee-to-wall L 9.5 R 12"},
		{"test 7 calf 18/27", "test 7 calf-raise 18/27"},
		{"test 7 ktw 9/12 l/r", "test 7 knee-to-wall L 9 R 12"},
		{"test 7 bal 30/60+", "test 7 balance 30/60+"},
		{"test 7 ktw L 9 9.5 x R 12", "test 7 knee-to-wall L 9 9.5 x R 12"},
		{"test 7 gait limp pain-walking 2/10", "test 7 gait limp, pain-walking 2"},
		{"test 7 heel raises L 20 R 25 reps yesterday", "test 7 calf-raise L 20 R 25 2026-03-02 12:00"},
		{"test 7 calf-raise not done safety", "test 7 calf-raise not-done safety"},
		{"morning 7 pain 1 same", "morning 7 pain 1 same"},
		{"morning 7 pain 4/10 swelling up, limping", "morning 7 pain 4 more limp"},
		{"morning 7 pain 0 less no limp", "morning 7 pain 0 less"},
		{"morning 7 pain 4 limp, no gave way", "morning 7 pain 4 limp"},
		{"morning 7 pain 4 limp no, gave way", "morning 7 pain 4 gave-way"},
		{"morning 7 pain 4 gave way no", "morning 7 pain 4"},
		{"morning 7 pain 3 gave way, calf pain", "morning 7 pain 3 gave-way calf"},
		{"am 7 pain 2 no change", "morning 7 pain 2 same"},
		{"ready 7", "ready 7"},
		{"ready mere tau", "ready 7"},
		{"advance 7: coach asked, moves well", "advance 7 : coach asked, moves well"},
		{"stay 7 sore today", "stay 7 : sore today"},
		{"7 ktw 9.5/12", "test 7 knee-to-wall 9.5/12"},
		{"mez gait limp", "test 7 gait limp"},
		{"7 pain 1 same", "morning 7 pain 1 same"},
		{"7 numb", "screen 7 numb"},
		{"7", "ready 7"},
		{"7 rolled left ankle", "sprain 7 left inversion"},
		{"test 7 left calf 10, right calf 25", "test 7 calf-raise L 10, calf-raise R 25"},
		{"test 7 ktw 9.5 / 12", "test 7 knee-to-wall 9.5/12"},
		{"test 7 bal 4s/60s", "test 7 balance 4/60+"},
		{"test 7 ktw 9.5cm/12cm", "test 7 knee-to-wall 9.5/12"},
		{"test 7 pain-walking 3 / 10", "test 7 pain-walking 3"},
		{"test 7 bal L 10,12,14", "test 7 balance L 10 12 14"},
		{"screen 7 wb ok, lat mal ok, no squeeze", "screen 7 walks, no tender bone-outer, no squeeze"},
		{"screen 7 can't weight bear, 5th met tender", "screen 7 cannot-walk, tender fifth-metatarsal"},
		{"test 7 evert equal pain 1, pogo 18/20 pain 2", "test 7 evert equal pain 1, pogo 18/20+ pain 2"},
		{"test 7 pain-drills 2 masked", "test 7 pain-drills 2 masked"},
		{"test 7 sprint full, confidence 8", "test 7 sprint 100, confidence 8"},
		{"test 7 drop-jump L 24cm 200ms", "test 7 drop-jump L 1.2"},
		{"test ktw l/r: 7 9/12, mez 10/11", "test knee-to-wall : 7 L 9 R 12, 7 L 10 R 11"},
		{"test calf: 12 L 20 R 22, 23 18/20", "test calf-raise : 12 L 20 R 22, 23 18/20"},
		{"done 7 pain 2", "done 7 pain 2"},
		{"done 7 partly pain 4: no time", "done 7 some pain 4 : no time"},
		{"play-on 7 no limp, raises, hops, sprint, cuts, confident, tape on, pain 1", "play-on 7 pain 1 no-limp raises hops sprint cuts confident support"},
		{"step back 7 sore after landing", "step-back 7 : sore after landing"},
		{"step-back 7 left: Sore After Landing", "step-back 7 left : Sore After Landing"},
		{"lift-hold 7 lateral: films clear", "lift-hold 7 lateral : films clear"},
		{"lift-hold 7 lateral", "lift-hold 7 lateral"},
		{"lift hold 7 high specialist says stable", "lift-hold 7 high : specialist says stable"},
		{"add 31 Ann-Marie O'Dell, full back, born 1999, leg 88", "add 31 Ann-Marie O'Dell, born 1999 leg 88 full back,"},
		{"note 7: likes lace-ups", "note 7 : likes lace-ups"},
		{"7 note: likes lace-ups", "note 7 : likes lace-ups"},
		{"help sprain", "help : sprain"},
	} {
		call, err := reg.Parse(c.typed, l)
		if err != nil {
			t.Errorf("%q: %v", c.typed, err)
			continue
		}
		if got := call.Text(); got != c.read {
			t.Errorf("%q was read as %q, not %q", c.typed, got, c.read)
		}
	}
}

// Near spellings are mended only when one known word can be meant; what was mended is said.
func TestNearSpellings(t *testing.T) {
	reg, l := registry(t), lang(t)
	for _, c := range []struct{ typed, read, says string }{
		{"sprian 7 left", "sprain 7 left", "sprian as sprain"},
		{"sprain 7 leftt inverson", "sprain 7 left inversion", "inverson as inversion"},
		{"sprain 7 rigth", "sprain 7 right", "rigth as right"},
		{"sprain 7 left no-contcat", "sprain 7 left no-contact", "contcat as contact"},
		{"test 7 calf-riase L 18", "test 7 calf-raise L 18", "riase as raise"},
		{"screen 7 deformty", "screen 7 deformity", "deformty as deformity"},
		{"screen 7 tender navicluar", "screen 7 tender navicular", "navicluar as navicular"},
		{"7 raedy", "ready 7", "raedy as ready"},
		{"test 7 gait nromal", "test 7 gait normal", "nromal as normal"},
	} {
		call, err := reg.Parse(c.typed, l)
		if err != nil {
			t.Errorf("%q: %v", c.typed, err)
			continue
		}
		if got := call.Text(); got != c.read || !strings.Contains(strings.Join(call.Corrected, "; "), c.says) {
			t.Errorf("%q was read as %q saying %q; want %q saying %q", c.typed, got, call.Corrected, c.read, c.says)
		}
	}
}

// A line that cannot be read names the word and says what would work. No slip ever crosses a pair of
// opposites: the clinical meaning would turn round.
func TestRefusals(t *testing.T) {
	reg, l := registry(t), lang(t)
	for _, c := range []struct{ typed, says string }{
		{"", "Type a command"},
		{"   ", "Type a command"},
		{"frobnicate 7", "“frobnicate”"},
		{"sprain 7 left wobbly", "“wobbly”"},
		{"sprain left", "Who?"},
		{"test limp", "Who?"},
		{"sprain 99 left", "wears 99"},
		{"sprain mere left", "Which mere?"},
		{"sprain Gonzo left", "“Gonzo”"},
		{"sprain Joos left", "12 Joss Okafor"},
		{"sprain 7 left right", "left and right"},
		{"sprain 7 left iversion", "“iversion”"},
		{"screen 7 walkd", "“walkd”"},
		{"screen 7 walkes", "“walkes”"},
		{"screen 7 nune", "“nune”"},
		{"screen 7 tender nomb", "“tender”"},
		{"screen 7 walks cannot-walk", "both there and not there"},
		{"screen 7 tender none, tender navicular", "both there and not there"},
		{"screen 7 circulation", "ok or not ok?"},
		{"screen 7 squeeze and er neg", "Is squeeze denied too?"},
		{"screen 7 squeeze/er -", "Is squeeze denied too?"},
		{"sprain 7 left tomorrow", "“tomorrow”"},
		{"sprain 7 left 2026-03-04", "still to come"},
		{"sprain 7 left 19:30", "still to come"},
		{"sprain 7 left note:", "note is empty"},
		{"sprain 7 left grade 4", "from 1 to 3"},
		{"sprain 7 left grade 1.5", "whole number"},
		{"screen 7 squeeze, er neg", "Is squeeze denied too?"},
		{"screen 7 no squeeze, er", "denied too?"},
		{"screen 7 no deformity/open wound", "denied too?"},
		{"screen 7 tender lat mal - limping", "Is the “-” after"},
		{"screen 7 numb - cold foot", "Is the “-” after"},
		{"advance 7 not yet", "“not”"},
		{"screen 7 night", "“night”"},
		{"screen 7 talking", "“talking”"},
		{"screen 7 toes", "“toes”"},
		{"sprain 7 left left lateral: swollen", "“lateral”"},
		{"left 7 lateral: still sore", "“left”"},
		{"test 7 wobble, foot is numb", "red flag"},
		{"test 7 calf 18 of 27", "18/27"},
		{"test 7 pain-walking 8, 2", "given twice"},
		{"test 7 right ktw L 9 R 12", "say it once"},
		{"test 7 function-sport items 4 4 4", "at least 7 of its 8"},
		{"test ktw: 7 9/12, 99 10/11", "wears 99"},
		{"test 7 ktw", "needs a value"},
		{"test 7 ktw L 95", "from 0 to 30 cm"},
		{"test 7 ktw L -3", "from 0 to 30 cm"},
		{"test 7 ktw L 9 s", "measured in cm, not s"},
		{"test 7 calf L 12.5", "whole numbers"},
		{"test 7 balance L 130", "from 0 to 60 s"},
		{"test 7 gait wobbly", "“wobbly”"},
		{"test 7 gait normal limp", "given twice"},
		{"test 7 pain-walking L 2 R 3", "has no sides"},
		{"test 7 calf-raise not-done", "Why"},
		{"morning 7 same", "what pain?"},
		{"morning 7 pain", "needs a number"},
		{"morning 7 pain 11", "from 0 to 10"},
		{"lift-hold 7 : films clear", "what course?"},
		{"add Mere Tau", "shirt number"},
		{"add 7", "who?"},
		{"add 5000 Big Shirt", "1 to 999"},
		{"add 5 Al Bo, born yesterday", "born needs a year"},
	} {
		call, err := reg.Parse(c.typed, l)
		if err == nil {
			t.Errorf("%q was read as %q; it should have been refused", c.typed, call.Text())
			continue
		}
		var refusal *Refusal
		var question *Question
		if !errors.As(err, &refusal) && !errors.As(err, &question) {
			t.Errorf("%q: %v is not meant for a user", c.typed, err)
		}
		if !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q: %q does not say %q", c.typed, err, c.says)
		}
	}
}

// A red flag in a line that is not understood is never talked away by a "no" that belongs to the next
// words.
func TestRedFlags(t *testing.T) {
	l := lang(t)
	for text, want := range map[string]string{
		"my foot is numb no idea why": "numb or cold", "it gave way no pain": "gave way", "foot cold - help": "numb or cold",
		"foot numb: no": "", "no numbness, not cold": "", "numb no, limping": "",
	} {
		if got := RedFlag(text, l); got != want {
			t.Errorf("%q names the red flag %q, not %q", text, got, want)
		}
	}
}

// Pressing an answer runs the line as it would have to be typed to be clear.
func TestAnAmbiguousNameOffersTheClearLine(t *testing.T) {
	_, err := registry(t).Parse("sprain mere left match note: wet pitch", lang(t))
	var q *Question
	if !errors.As(err, &q) || len(q.Options) != 2 {
		t.Fatalf("want a question with two answers, got %v", err)
	}
	if q.Options[0].Label != "7 Mere Tau" || q.Options[0].Line != "sprain 7 left match note: wet pitch" {
		t.Errorf("first answer: %+v", q.Options[0])
	}
}

// What an athlete is shown as an example works when the athlete types it.
func TestAnAthletesOwnExamplesAreRead(t *testing.T) {
	reg, l := registry(t), lang(t)
	l.Self = l.Roster[0]
	n := 0
	for _, c := range reg.Commands() {
		if !c.Self {
			continue
		}
		for _, e := range c.examples(true) {
			n++
			call, err := reg.Parse(e, l)
			if err != nil || call.Command != c || call.Subject().ID != 0 {
				t.Errorf("%q: %v, about %d", e, err, call.Subject().ID)
			}
		}
	}
	if n == 0 {
		t.Error("no command is an athlete's own")
	}
}

// Every example is read, and is read the same when written back.
func TestExamplesRoundTrip(t *testing.T) {
	reg, l := registry(t), lang(t)
	for _, c := range reg.Commands() {
		for _, e := range c.Examples {
			sameAgain(t, reg, l, e, true)
		}
	}
}

// sameAgain checks parse(format(call)) = call.
func sameAgain(t *testing.T, reg *Registry, l *Lang, line string, must bool) {
	t.Helper()
	call, err := reg.Parse(line, l)
	if err != nil {
		if must {
			t.Errorf("%q: %v", line, err)
		}
		return
	}
	again, err := reg.Parse(call.Text(), l)
	if err != nil {
		t.Fatalf("%q was written back as %q, which is refused: %v", line, call.Text(), err)
	}
	if again.Command != call.Command || !reflect.DeepEqual(again.Args, call.Args) {
		t.Fatalf("%q\nwritten back as %q\nis read as %+v\nnot as %+v", line, call.Text(), again.Args, call.Args)
	}
}

func FuzzParse(f *testing.F) {
	reg, l := registry(f), lang(f)
	l.SetRoster(corpusSquad)
	for _, c := range reg.Commands() {
		for _, e := range c.Examples {
			f.Add(e)
		}
	}
	for _, s := range []string{"7 sprain l", "test 7 ktw 9/12 l/r, 12 10/11", "screen 7 squeeze – er –", "add 3 İx ẞy, born 1999", "note 7:: note: x", "mez raedy", "#7 ready", "a\x00b"} {
		f.Add(s)
	}
	for _, row := range corpus(f) {
		f.Add(row.typed)
	}
	f.Fuzz(func(t *testing.T, line string) {
		if len(line) > maxLine/2 || len(tokens(tidy(clean(line)))) > maxWords/2 {
			// Written back it may be longer, and past the limits it is refused: only that it ends.
			_, _ = reg.Parse(line, l)
			return
		}
		sameAgain(t, reg, l, line, false)
	})
}

func BenchmarkParse(b *testing.B) {
	reg, l := registry(b), lang(b)
	for b.Loop() {
		if _, err := reg.Parse("sprain 7 left match inverson no-contact tender none, walked, walks, circulation ok, squeeze -, er -, no modifiers", l); err != nil {
			b.Fatal(err)
		}
	}
}
