package discord_test

import (
	"fmt"
	"path"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"footing/bot/discord/discordtest"
	"footing/store"
	"footing/store/storetest"
)

// step is one thing somebody does on the way, as a line; by buttons it is the presses on the card that a line
// asks for, where there are any.
type step struct {
	at    string // the local time from which on it is, "03-03 07:20"; empty for no change
	who   string // sam, the athlete or the coach
	line  string
	card  string   // the line whose answer has the buttons; empty where the line before has them
	press []string // labels
	wants string   // in the answer
}

// course is a mild sprain from first contact to the work after the return. The tests, the gates and the times
// are those of the transcripts in bot/testdata.
var course = []step{
	{who: "sam", line: "add 7 Mere Tau, wing, born 1999", wants: "7 Mere Tau"},
	{who: "sam", line: "add 12 Joss Okafor", wants: "12 Joss Okafor"},
	{who: "link"},
	{who: "mez", line: "consent yes", press: []string{"I agree"}, wants: "that is kept"},
	{who: "sam", line: "test 7 ktw L 11.5 R 11.5, hop L 150 R 152", wants: "baseline"},
	{who: "sam", line: "sprain 7 left match inversion grade 1 " + cleared + " note: heard a click", wants: "Screen complete"},
	{who: "sam", line: "unavailable 12 illness until 2026-03-20", wants: "12 Joss Okafor"},
	{at: "03-03 07:20", who: "mez", line: "morning pain 2 same", card: "morning", press: []string{"2", "Same", "Nothing"}, wants: "pain 2, swelling same"},
	{who: "mez", line: "plan", wants: "Settle"},
	{who: "mez", line: "done all pain 1", press: []string{"Done", "1"}, wants: "drills all done, pain 1"},
	{who: "report", at: "03-03 07:45", wants: "7 Mere Tau, 1 day out"},
	{who: "sam", line: "test 7 gait limp, pain-walking 2, bal 14/60+", wants: "All criteria for Load"},
	{who: "sam", line: "advance 7", card: "ready 7", press: []string{"Advance"}, wants: "Settle → Load"},
	{at: "03-04 07:20", who: "mez", line: "morning pain 1 less", card: "morning", press: []string{"1", "Less", "Nothing"}, wants: "pain 1, swelling less"},
	{who: "mez", line: "plan", wants: "Load"},
	{who: "mez", line: "done some pain 3 : no time", press: []string{"Partly", "No time", "3"}, wants: "partly done, pain 3"},
	{at: "03-04 18:00", who: "sam", line: "stay 7", card: "ready 7", press: []string{"Stay"}, wants: "stays in Load"},
	{who: "sam", line: "step-back 7: worse morning", card: "ready 7", press: []string{"Step back", "Worse morning"}, wants: "steps back to Settle"},
	{at: "03-05 07:20", who: "sam", line: "morning 7 pain 1 less", card: "morning 7", press: []string{"1", "Less"}, wants: "Not worse"},
	{who: "sam", line: "test 7 gait normal, pain-walking 1, pain-drills 1, balance 35/60+, ktw L 10.5 R 11.5, calf-raise 26/27, evert equal pain 1, balance-closed 18/24, reach-anterior 63/64", wants: "All criteria for Load"},
	{who: "sam", line: "advance 7", card: "ready 7", press: []string{"Advance"}, wants: "Settle → Load"},
	{who: "sam", line: "advance 7", card: "ready 7", press: []string{"Advance"}, wants: "Load → Control"},
	{who: "sam", line: "advance 7", card: "ready 7", press: []string{"Advance"}, wants: "Control → Impact"},
	{who: "sam", line: "test 7 pogo 20/20 pain 1, jog 12, girth L 51 R 51", wants: "Before Land"},
	{at: "03-06 07:20", who: "sam", line: "morning 7 pain 1 same", card: "morning 7", press: []string{"1", "Same"}, wants: "Not worse"},
	{who: "sam", line: "test 7 girth L 51 R 51", wants: "All criteria for Land"},
	{who: "sam", line: "advance 7", card: "ready 7", press: []string{"Advance"}, wants: "Impact → Land"},
	{at: "03-06 18:00", who: "sam", line: "test 7 hop L 145 140 x R 150, stick-forward 3/3, stick-sideways 3/3, sprint full, cuts clean, reach pm 95/97, reach pl 90/93, reach-anterior 63/64", wants: "All criteria for Sport"},
	{who: "sam", line: "advance 7", card: "ready 7", press: []string{"Advance"}, wants: "Land → Sport"},
	{who: "sam", line: "test 7 team-session full", wants: "Before Returned"},
	{at: "03-07 07:20", who: "sam", line: "morning 7 pain 1 same", card: "morning 7", press: []string{"1", "Same"}, wants: "Not worse"},
	{at: "03-07 18:00", who: "sam", line: "test 7 team-session full-contact", wants: "Before Returned"},
	{at: "03-08 07:20", who: "mez", line: "morning pain 0 same", card: "morning", press: []string{"0", "Same", "Nothing"}, wants: "pain 0, swelling same"},
	{who: "sam", line: "note 7: slept badly", wants: "Note kept"},
	{who: "sam", line: "support 7 tape: matches for a year", wants: "support tape"},
	{who: "sam", line: "test 7 pain-sport 1, pain-day 0, confidence 9", wants: "All criteria for Return"},
	{who: "sam", line: "return 7", card: "ready 7", press: []string{"Return"}, wants: "Sport → Returned"},
	{at: "03-09 07:20", who: "mez", line: "plan", wants: "prevention"},
	{who: "mez", line: "done all pain 0", press: []string{"Done", "0"}, wants: "drills all done, pain 0"},
	{who: "report", at: "03-09 07:45", wants: "1 of 2 full"},
}

// journey walks the course in one way.
type journey struct {
	*club
	way  string // text, slash or buttons
	read reader
	last map[string]discordtest.Message // the latest answer to each
}

func (j *journey) at(when string) {
	j.t.Helper()
	local, err := time.ParseInLocation("2006-01-02 15:04", "2026-"+when, j.zone())
	if err != nil {
		j.t.Fatal(err)
	}
	j.w.SetClock(local)
}

func (j *journey) take(s step) {
	j.t.Helper()
	if s.at != "" {
		j.at(s.at)
	}
	switch s.who {
	case "link":
		j.link()
		return
	case "report":
		says(j.t, j.report().Content, s.wants)
		return
	}
	u, ch, self := j.sam, j.medical, 0
	if s.who == "mez" {
		u, ch, self = j.mez, j.mez.DM(), 7
	}
	var m discordtest.Message
	switch {
	case j.way == "buttons" && len(s.press) > 0:
		m = j.last[s.who]
		if s.card != "" {
			m = j.answer(ch, func() { u.Says(ch, s.card) })
		}
		for _, label := range s.press {
			m = j.final(u.Presses(m.ID, button(j.t, m, label)))
		}
	case j.way == "slash":
		m = j.read.slash(u, ch, s.line, self)
	default:
		m = j.answer(ch, func() { u.Says(ch, s.line) })
	}
	j.settle()
	j.last[s.who] = m
	says(j.t, m.Content, s.wants)
	if j.t.Failed() {
		j.t.Fatalf("%s, by %s: %s", s.who, j.way, s.line)
	}
}

// report is what the clock has the bot say in the staff channel.
func (j *journey) report() discordtest.Message {
	j.t.Helper()
	if err := j.b.Tick(j.t.Context()); err != nil {
		j.t.Error(err)
	}
	j.settle()
	list := j.staff.Messages()
	slices.Reverse(list)
	for _, m := range list { // days nobody looked at were missed, which is said too
		if strings.HasPrefix(m.Content, "Availability") {
			return m
		}
	}
	return j.staff.Last()
}

// link makes mez the account of 7, and asks for consent in direct messages.
func (j *journey) link() {
	j.t.Helper()
	var claim discordtest.Message
	switch j.way {
	case "text":
		claim = j.answer(j.medical, func() { j.mez.Says(j.public, j.w.Bot().Mention()+" link-me 7") })
	case "slash":
		claim = j.answer(j.medical, func() { j.read.slash(j.mez, j.public, "link-me 7", 0) })
	case "buttons":
		card := j.answer(j.public, func() { j.run(j.sam, j.public, "invite", nil) })
		asked := j.final(j.mez.Presses(card.ID, button(j.t, card, "This is me")))
		claim = j.answer(j.medical, func() { j.mez.Presses(asked.ID, button(j.t, asked, "7")) })
	}
	// The card names the account itself, so that it can be told from one that only calls itself the same.
	says(j.t, claim.Content, "mez (account "+j.mez.Mention()+") says they wear 7 Mere Tau")
	j.last["mez"] = j.answer(j.mez.DM(), func() {
		switch j.way {
		case "text":
			j.sam.Says(j.medical, "link 7 account "+j.mez.Mention())
		case "slash":
			j.read.slash(j.sam, j.medical, "link 7 account "+j.mez.Mention(), 0)
		case "buttons":
			j.final(j.sam.Presses(claim.ID, button(j.t, claim, "Confirm")))
		}
	})
}

// The main job from first contact to the work after the return: by lines only, by slash commands only, and by
// buttons wherever there are any. What is on record is the same, and nobody reads what is not for them.
func TestTheMainJobThreeWays(t *testing.T) {
	var mu sync.Mutex
	records := map[string]map[string][]string{} // by engine and way
	t.Run("all", func(t *testing.T) {
		for _, way := range []string{"text", "slash", "buttons"} {
			t.Run(way, func(t *testing.T) {
				storetest.Each(t, func(t *testing.T, db store.Config) {
					got := walk(t, db, way)
					mu.Lock()
					defer mu.Unlock()
					engine := path.Base(t.Name())
					if records[engine] == nil {
						records[engine] = map[string][]string{}
					}
					records[engine][way] = got
				})
			})
		}
	})
	for engine, by := range records {
		for _, way := range []string{"slash", "buttons"} {
			if diff := firstDifference(by["text"], by[way]); diff != "" {
				t.Errorf("%s, by text and by %s: %s", engine, way, diff)
			}
		}
	}
}

// walk walks the course and gives what is on record at its end.
func walk(t *testing.T, db store.Config, way string) []string {
	t.Helper()
	j := &journey{club: open(t, db), way: way, last: map[string]discordtest.Message{}}
	j.read = j.reader()
	for _, s := range course {
		j.take(s)
	}
	kept(t, "the coach", received(j.cleo, j.staff, j.public), "sprain", "ankle", "inversion", "grade", "click", "illness", "slept", "squeeze", "knee-to-wall", "calf", "hop ", "confidence",
		"pain", "swelling", "tape", "worse", "Settle", "Control", "Impact")
	kept(t, "the athlete", received(j.mez, j.public), "sprain", "inversion", "grade", "click", "illness", "slept", "squeeze", "tender", "knee-to-wall", "11.5", "confidence", "worse morning", "Joss")
	for _, p := range j.w.Pings() {
		t.Errorf("%s was pinged", p.Who)
	}
	if v := j.w.Violations(); len(v) > 0 {
		t.Errorf("violations: %q", v)
	}
	return j.record()
}

// firstDifference names the first entry that two records do not share, "" when they are the same.
func firstDifference(a, b []string) string {
	for i := range max(len(a), len(b)) {
		x, y := "nothing", "nothing"
		if i < len(a) {
			x = a[i]
		}
		if i < len(b) {
			y = b[i]
		}
		if x != y {
			return fmt.Sprintf("entry %d of %d and %d is\n%s\nand\n%s", i, len(a), len(b), x, y)
		}
	}
	return ""
}
