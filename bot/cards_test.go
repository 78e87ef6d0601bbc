package bot_test

import (
	"os"
	"strings"
	"testing"
	"time"

	"footing/bot"
	"footing/rehab"
	"footing/store/storetest"
)

// settled clears the ankle of 7, sprained the day before, and meets the first gate but for the morning.
var settled = strings.Replace(cleared, "left", "left yesterday", 1) + "\ntest 7 gait limp, pain-walking 2, balance 12/60+"

var athlete = []rehab.Role{rehab.AthleteRole}

// own sends an athlete's line from their direct messages.
func (r *rig) own(t *testing.T, text string) string {
	t.Helper()
	return r.send(t, r.athlete(t, 7, text))
}

// pressOwn presses the latest button with a label in an athlete's direct messages.
func (r *rig) pressOwn(t *testing.T, label string) string {
	t.Helper()
	return r.pressAt(t, label, "mere", athlete, bot.DirectTo("mere"))
}

func (r *rig) pressAt(t *testing.T, label, author string, roles []rehab.Role, place bot.Place) string {
	t.Helper()
	in := r.message("")
	in.Kind, in.Token, in.Author, in.Roles, in.Place = bot.Pressed, r.chat.token(label), author, roles, place
	return r.send(t, in)
}

// card is a question or a choice that was shown, the button pressed of it, and what comes of it.
type card struct {
	show  func(t *testing.T, r *rig)
	label string
	says  string
	gone  string        // what it says to a clinician who has lost the role
	later time.Duration // may be pressed so long; half a day when zero
	own   bool          // an athlete's
}

func lines(list ...string) func(*testing.T, *rig) {
	return func(t *testing.T, r *rig) {
		for _, text := range list {
			r.say(t, text)
		}
	}
}

// season is a calendar file that is asked about.
func season(t *testing.T, r *rig) {
	in := r.message("calendar")
	file, err := os.ReadFile("testdata/season.ics")
	if err != nil {
		t.Fatal(err)
	}
	in.File = file
	r.send(t, in)
}

// mine is what the physio records, then what the athlete types.
func mine(physio string, list ...string) func(*testing.T, *rig) {
	return func(t *testing.T, r *rig) {
		r.say(t, physio)
		for _, text := range list {
			r.own(t, text)
		}
	}
}

func then(show func(*testing.T, *rig), labels ...string) func(*testing.T, *rig) {
	return func(t *testing.T, r *rig) {
		show(t, r)
		for _, label := range labels {
			if r.chat.last(label).Place == bot.MedicalRoom {
				r.press(t, label, "sam", medical)
			} else {
				r.pressOwn(t, label)
			}
		}
	}
}

// last is the latest message with a button of that label.
func (c *chat) last(label string) bot.Message {
	c.mu.Lock()
	defer c.mu.Unlock()
	var found bot.Message
	for _, m := range c.said {
		for _, b := range m.Buttons {
			if b.Label == label {
				found = m
			}
		}
	}
	return found
}

const held = "sprain 7 left match tender bone-outer, no bone-inner, no fifth-metatarsal, no navicular, walked, walks, circulation ok, squeeze -, er -, no modifiers"

var cards = map[string]card{
	"which side":         {show: lines("sprain 7 match"), label: "Left", says: "left ankle sprain, match, Mon 2 Mar 18:00", gone: "You may not use sprain"},
	"which athlete":      {show: lines("add 13 Mere Poole, prop", "sprain mere left match"), label: "13 Mere Poole", says: "13 Mere Poole, left ankle sprain, match, Mon 2 Mar 18:00", gone: "You may not use sprain"},
	"is that right":      {show: lines("sprain 7 left 2025-10-01"), label: "Yes, save it", says: "left ankle sprain, Wed 1 Oct", gone: "You may not use sprain"},
	"a new sprain":       {show: lines(cleared, "sprain 7 left"), label: "New sprain", says: "left ankle sprain, Mon 2 Mar 18:00", gone: "You may not use sprain"},
	"advance":            {show: lines(settled, "morning 7 pain 1 same", "ready 7"), label: "Advance", says: "Settle → Load, all criteria met", gone: "You may not use advance"},
	"stay":               {show: lines(settled, "ready 7"), label: "Stay", says: "stays in Settle", gone: "You may not use stay"},
	"step back":          {show: lines(cleared, "advance 7: strong", "ready 7"), label: "Step back", says: "Why?", gone: "You may not use step-back"},
	"why back":           {show: lines(cleared, "advance 7: strong", "step-back 7"), label: "Pain in drills", says: "steps back to Settle; every result before now is stale. Because: pain in drills", gone: "You may not use step-back"},
	"lift a hold":        {show: lines(held, "ready 7"), label: "Lift hold", says: "onto which course?", gone: "You may not use lift-hold"},
	"onto which course":  {show: lines(held, "lift-hold 7"), label: "Medial", says: "lift-hold 7 left medial: films clear", gone: "You may not use lift-hold"},
	"undo":               {show: lines(cleared, "note 7: ice"), label: "Undo", says: "Undone: 7 Mere Tau: note: ice", gone: "You may not use undo-message"},
	"less swelling":      {show: lines(cleared, "morning 7 pain 1"), label: "Less", says: "pain 1, swelling less. Not worse.", gone: "You may not use morning"},
	"until when":         {show: lines("training fri 18:30 weekly"), label: "6 weeks, until Mon 13 Apr", says: "weekly until Mon 13 Apr: 6 sessions", gone: "You may not use training"},
	"a calendar file":    {show: season, label: "Record them", says: "Recorded: 14 sessions", gone: "You may not use calendar"},
	"the morning":        {show: mine(cleared, "morning"), label: "2", says: "Thanks: pain 2.", own: true, later: 6 * time.Hour},
	"swelling":           {show: then(mine(cleared, "morning"), "2"), label: "Same", says: "Thanks: pain 2, swelling same.", own: true},
	"anything else":      {show: then(mine(cleared, "morning"), "2", "Same"), label: "Gave way", says: "pain 2, swelling same, gave way", own: true},
	"done":               {show: mine(cleared, "plan"), label: "Done", says: "How much did it hurt, at worst during the drills? 0 no pain, 2 is fine, above 5 stop.", own: true, later: 10 * time.Hour},
	"how it felt":        {show: then(mine(cleared, "plan"), "Done"), label: "3", says: "Mon 2 Mar 18:00: drills all done, pain 3. Tolerated", own: true},
	"partly":             {show: mine(cleared, "plan"), label: "Partly", says: "Pain or time?", own: true, later: 10 * time.Hour},
	"pain or time":       {show: then(mine(cleared, "plan"), "Partly"), label: "No time", says: "How much did it hurt", own: true},
	"not today":          {show: mine(cleared, "plan"), label: "Not today", says: "Why not?", own: true, later: 10 * time.Hour},
	"why not":            {show: then(mine(cleared, "plan"), "Not today"), label: "Travelling", says: "drills skipped, travelling.", own: true},
	"how it hurts":       {show: then(mine(cleared, "plan"), "Not today", "Pain"), label: "10", says: "drills skipped, pain 10", own: true},
	"something is wrong": {show: mine(cleared, "plan"), label: "Something is wrong", says: "medical: ALERT: 7 Mere Tau says something is wrong. See them now.", own: true, later: 24 * time.Hour},
	"what is wrong":      {show: mine(cleared, "wrong"), label: "Numb or cold", says: "medical: ALERT: 7 Mere Tau says something is wrong: numb or cold.", own: true, later: 24 * time.Hour},
}

// Every question is there after a restart, answers once, in time, to whoever was asked, and is checked
// again when it is pressed.
func TestCards(t *testing.T) {
	for name, c := range cards {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			for _, check := range []func(*testing.T, *rig, card){answersOnce, expires, isForWhoeverWasAsked, needsTheRole} {
				r := newRig(t, storetest.SQLite(t)) // what storage does with it the transcripts see on both engines
				c.show(t, r)
				if r.chat.token(c.label) == "" {
					t.Fatalf("no button %q was shown", c.label)
				}
				check(t, r, c)
			}
		})
	}
}

// press presses the card's button as whoever was asked.
func (c card) press(t *testing.T, r *rig) string {
	t.Helper()
	if c.own {
		return r.pressOwn(t, c.label)
	}
	return r.press(t, c.label, "sam", medical)
}

func answersOnce(t *testing.T, r *rig, c card) {
	r.start(t) // a new process
	shown := r.chat.last(c.label)
	wants(t, c.press(t, r), c.says)
	if got := r.chat.clears(); got.ID != shown.Key || got.Place != shown.Place {
		t.Errorf("the buttons of %q at %q may not go: the reply clears %+v", shown.Key, shown.Place, got)
	}
	stands, again := r.live(t), r.message("")
	again.Kind, again.Token = bot.Pressed, shown.Buttons[0].Token
	if c.own {
		again.Author, again.Roles, again.Place = "mere", athlete, bot.DirectTo("mere")
	}
	wants(t, r.send(t, again), "answered already")
	if r.live(t) != stands {
		t.Error("pressed twice it counted twice")
	}
}

func expires(t *testing.T, r *rig, c card) {
	stands, life := r.live(t), c.later
	if life == 0 {
		life = 12 * time.Hour
	}
	r.now = r.now.Add(life + time.Minute)
	wants(t, c.press(t, r), "expired")
	if r.live(t) != stands {
		t.Error("pressed late it counted")
	}
	r.now = r.now.Add(-time.Hour)
	if said := c.press(t, r); strings.Contains(said, "expired") {
		t.Errorf("expired early: %s", said)
	}
}

func isForWhoeverWasAsked(t *testing.T, r *rig, c card) {
	stands, place := r.live(t), r.chat.last(c.label).Place
	for who, roles := range map[string][]rehab.Role{"lee": {rehab.Coach}, "joss": athlete, "pat": {rehab.Owner}, "nobody": nil} {
		says := "for someone else"
		if who == "joss" {
			says = "no longer on this team's roster" // an athlete whose account is linked to nobody
		}
		wants(t, r.pressAt(t, c.label, who, roles, place), says)
	}
	if r.live(t) != stands {
		t.Error("pressed by someone else it counted")
	}
}

func needsTheRole(t *testing.T, r *rig, c card) {
	if c.own {
		r.say(t, "remove 7")
		r.press(t, "Remove 7 Mere Tau", "sam", medical)
		stands := r.live(t)
		wants(t, c.press(t, r), "no longer on this team's roster")
		if r.live(t) != stands {
			t.Error("pressed by who has left it counted")
		}
		return
	}
	stands := r.live(t)
	wants(t, r.press(t, c.label, "sam", nil), c.gone)
	if r.live(t) != stands {
		t.Error("pressed without the role it counted")
	}
}

// clears is what the answer to the last press says may lose its buttons.
func (c *chat) clears() bot.Shown {
	c.mu.Lock()
	defer c.mu.Unlock()
	for i := len(c.said) - 1; i >= 0; i-- {
		if c.said[i].Kind == "reply" {
			return c.said[i].Clears
		}
	}
	return bot.Shown{}
}

// A decision is not taken on a card that time has passed by, whatever step of it was pressed.
func TestAStaleCardDecidesNothing(t *testing.T) {
	for _, name := range []string{"advance", "stay", "step back", "why back", "lift a hold", "onto which course"} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			each(t, func(t *testing.T, r *rig) {
				c := cards[name]
				c.show(t, r)
				r.as(t, "kim", "note 7: limps")
				stands, old := r.live(t), r.chat.last(c.label)
				said := r.press(t, c.label, "sam", medical)
				wants(t, said, "Something changed since that card; nothing was decided. 7 Mere Tau, left:")
				if r.live(t) != stands {
					t.Error("it was decided all the same")
				}
				if got := r.chat.clears(); got.ID != old.Key {
					t.Errorf("the stale buttons stay: %+v", got)
				}
			})
		})
	}
}

// Three presses are one morning, told when the first was pressed; what is known stands after each.
func TestThreePressesAreOneMorning(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.say(t, settled)
		r.now = time.Date(2026, 3, 2, 18, 0, 0, 0, time.UTC) // 07:00 on the 3rd in Auckland
		r.own(t, "morning")
		before := r.live(t)
		r.now = r.now.Add(time.Hour)
		for _, label := range []string{"2", "Same", "Nothing"} {
			r.pressOwn(t, label)
			if n := r.live(t) - before; n != 1 {
				t.Fatalf("%d records after %s, not one", n, label)
			}
			r.now = r.now.Add(time.Hour)
		}
		wants(t, r.say(t, "history 7"), "Tue 3 Mar: morning pain 2\n")
		wants(t, r.say(t, "ready 7"), "morning not worse")
		if said := r.own(t, "undo"); !strings.Contains(said, "Undone: 7 Mere Tau: morning pain 2") || r.live(t) != before {
			t.Errorf("it is not taken back whole: %s", said)
		}
	})
}

// Undo takes back the message it stands under, not the last one, and only for whoever recorded it.
func TestTheUndoButtonTakesItsOwnMessage(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.say(t, "note 7: first")
		first := r.chat.token("Undo")
		r.say(t, "note 7: second")
		press := func(author string) string {
			in := r.message("")
			in.Kind, in.Token, in.Author = bot.Pressed, first, author
			return r.send(t, in)
		}
		wants(t, press("kim"), "no record of yours")
		wants(t, press("sam"), "Undone: 7 Mere Tau: note: first")
		wants(t, r.say(t, "undo"), "note: second")
	})
}

func TestWhereThereIsAnUndoButton(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		in   func(r *rig, in *bot.Inbound)
		want bool
	}{
		"a record":             {text: "note 7: ice", want: true},
		"the roster":           {text: "add 31 Pia Lund, wing", want: true},
		"nothing recorded":     {text: "roster"},
		"the bot's own plan":   {text: "plan 7"},
		"several lines":        {text: "note 7: ice\nnote 12: ice"},
		"not for medical eyes": {text: "add 31 Pia Lund, wing", in: func(_ *rig, in *bot.Inbound) { in.Place = bot.StaffRoom }},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			each(t, func(t *testing.T, r *rig) {
				r.say(t, cleared+"\nnote 7: x")
				in := r.message(c.text)
				if c.in != nil {
					c.in(r, &in)
				}
				r.send(t, in)
				if m := r.chat.last("Undo"); (m.Key != "" && strings.Contains(m.Key, in.Message)) != c.want {
					t.Errorf("an Undo button: %v, not %v", !c.want, c.want)
				}
			})
		})
	}
}
