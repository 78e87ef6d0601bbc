package discord_test

import (
	"strings"
	"testing"

	"footing/bot/discord/discordtest"
	"footing/store/storetest"
)

// act is one thing that somebody does who means harm, or that goes wrong on the server.
type act struct {
	says  string
	do    func(t *testing.T, a, b *club) string // gives what was answered; "" for nothing
	wants string                                // in the answer; "" when there must be none
	keeps bool                                  // it records something
}

// forged does something that Discord's app would not, and gives the answer.
func (c *club) forged(u *discordtest.User, ch *discordtest.Channel, f discordtest.Forged) string {
	c.t.Helper()
	return c.final(u.Forges(ch, f)).Content
}

// silent does something that must not be answered anywhere the club can see, and waits for what is said next.
func (c *club) silent(do func()) string {
	c.t.Helper()
	before := map[*discordtest.Channel]int{}
	rooms := []*discordtest.Channel{c.staff, c.public, c.mez.DM()}
	for _, ch := range rooms {
		before[ch] = len(ch.Messages())
	}
	do()
	says(c.t, c.lines("help sprain").Content, "sprain") // all before it has been heard
	for _, ch := range rooms {
		for _, m := range ch.Messages()[before[ch]:] {
			if m.Author == c.w.Bot().Name {
				return m.Content
			}
		}
	}
	return ""
}

// card shows the decision card of an athlete and gives it with the id of one of its buttons.
func (c *club) card(label string) (discordtest.Message, string) {
	c.t.Helper()
	m := c.lines("ready 7")
	return m, button(c.t, m, label)
}

func option(name string, kind int, value any) map[string]any {
	return map[string]any{"name": name, "type": kind, "value": value}
}

var acts = []act{
	{says: "A button with a made-up id.", wants: "not one of mine", do: func(_ *testing.T, a, _ *club) string {
		return a.forged(a.sam, a.medical, discordtest.Forged{Press: strings.Repeat("A", 32)})
	}},
	{says: "A button whose id is no token at all.", wants: "not one of mine", do: func(_ *testing.T, a, _ *club) string {
		return a.forged(a.sam, a.medical, discordtest.Forged{Press: "'; DROP TABLE pending; --\x00\u202e"})
	}},
	{says: "A button of another team's card.", wants: "not for this team", do: func(_ *testing.T, a, b *club) string {
		_, token := b.card("Stay")
		return a.forged(a.sam, a.medical, discordtest.Forged{Press: token})
	}},
	{says: "This team's button, pressed from the other server.", wants: "not for this team", do: func(_ *testing.T, a, b *club) string {
		_, token := a.card("Stay")
		return b.forged(b.sam, b.medical, discordtest.Forged{Press: token})
	}},
	{says: "The physio's button, pressed by a coach who learnt its id.", wants: "for someone else", do: func(_ *testing.T, a, _ *club) string {
		_, token := a.card("Stay")
		return a.forged(a.cleo, a.staff, discordtest.Forged{Press: token})
	}},
	{says: "The physio's button, pressed by the athlete from their direct messages.", wants: "for someone else", do: func(_ *testing.T, a, _ *club) string {
		_, token := a.card("Stay")
		return a.forged(a.mez, a.mez.DM(), discordtest.Forged{Press: token})
	}},
	{says: "The physio's button, pressed by a coach who claims a role that the server does not have.", wants: "for someone else", do: func(_ *testing.T, a, b *club) string {
		_, token := a.card("Stay")
		return a.forged(a.cleo, a.staff, discordtest.Forged{Press: token, Roles: []string{b.medic.ID, "1"}})
	}},
	{says: "A card that was answered, pressed again.", wants: "answered already", keeps: true, do: func(_ *testing.T, a, _ *club) string {
		m, token := a.card("Stay")
		a.final(a.sam.Presses(m.ID, token))
		return a.forged(a.sam, a.medical, discordtest.Forged{Press: token})
	}},
	{says: "A card whose physio lost the medical role before they pressed.", wants: "You may not use", do: func(_ *testing.T, a, _ *club) string {
		_, token := a.card("Stay")
		a.g.SetRoles(a.sam, a.coach)
		defer a.g.SetRoles(a.sam, a.medic)
		return a.forged(a.sam, a.medical, discordtest.Forged{Press: token})
	}},
	{says: "A command that there is not.", wants: "not", do: func(_ *testing.T, a, _ *club) string {
		return a.forged(a.sam, a.medical, discordtest.Forged{Command: "drop-team"})
	}},
	{says: "A command without what it needs.", wants: "Who", do: func(_ *testing.T, a, _ *club) string {
		return a.forged(a.sam, a.medical, discordtest.Forged{Command: "sprain"})
	}},
	{says: "A command with an option that it does not have.", wants: "", do: func(t *testing.T, a, _ *club) string {
		says(t, a.forged(a.sam, a.medical, discordtest.Forged{Command: "stay", Options: []map[string]any{option("athlete", 3, "7"), option("confirmed", 3, "yes")}}), "confirmed")
		return ""
	}},
	{says: "Options of the wrong type.", wants: "pain needs a number", do: func(_ *testing.T, a, _ *club) string {
		return a.forged(a.sam, a.medical, discordtest.Forged{Command: "morning", Options: []map[string]any{option("athlete", 3, map[string]any{"a": 1}), option("pain", 5, true)}})
	}},
	{says: "A number that is none.", wants: "pain", do: func(_ *testing.T, a, _ *club) string {
		return a.forged(a.sam, a.medical, discordtest.Forged{Command: "morning", Options: []map[string]any{option("athlete", 3, "7"), option("pain", 4, 1e300)}})
	}},
	{says: "A form that nobody opened, for a command nobody may type there.", wants: "You may not use", do: func(_ *testing.T, a, _ *club) string {
		return a.forged(a.cleo, a.staff, discordtest.Forged{Modal: "note\x1ftext\x1fathlete=7", Inputs: map[string]string{"text": "x"}})
	}},
	{says: "A form with more in its id than it asked.", wants: "", do: func(t *testing.T, a, _ *club) string {
		says(t, a.forged(a.sam, a.medical, discordtest.Forged{Modal: "stay\x1fconfirmed\x1fathlete=7\x1f=\x1f", Inputs: map[string]string{"confirmed": "yes"}}), "has no option")
		return ""
	}},
	{says: "4,000 letters in a form.", wants: "too", do: func(_ *testing.T, a, _ *club) string {
		return a.forged(a.sam, a.medical, discordtest.Forged{Modal: "note\x1ftext\x1fathlete=7", Inputs: map[string]string{"text": strings.Repeat("é", 4000)}})
	}},
	{says: "A NUL in a form: what cannot be seen is left out.", wants: "Note kept", keeps: true, do: func(_ *testing.T, a, _ *club) string {
		return a.forged(a.sam, a.medical, discordtest.Forged{Modal: "note\x1ftext\x1fathlete=7", Inputs: map[string]string{"text": "a\x00b"}})
	}},
	{says: "A NUL in a line.", wants: "characters I cannot keep", do: func(_ *testing.T, a, _ *club) string {
		return a.answer(a.medical, func() { a.sam.Says(a.medical, "note 7: a\x00b") }).Content
	}},
	{says: "A webhook that calls itself the physio.", wants: "", do: func(_ *testing.T, a, _ *club) string {
		return a.silent(func() { a.medical.Webhook("sam", a.w.Bot().Mention()+" sprain 7 right") })
	}},
	{says: "Another bot with the medical role.", wants: "", do: func(_ *testing.T, a, _ *club) string {
		return a.silent(func() { a.g.Automaton("scribe", a.medic).Says(a.medical, "sprain 7 right") })
	}},
	{says: "A direct message from a stranger.", wants: "I do not know you", do: func(_ *testing.T, a, _ *club) string {
		mal := a.g.Member("mal")
		return a.answer(mal.DM(), func() { mal.Says(mal.DM(), "sprain 7 left") }).Content
	}},
	{says: "A slash command of a stranger in direct messages.", wants: "I do not know you", do: func(_ *testing.T, a, _ *club) string {
		return a.forged(a.w.User("mal"), a.w.User("mal").DM(), discordtest.Forged{Command: "history", Options: []map[string]any{option("athlete", 3, "7")}})
	}},
	{says: "An athlete who asks about another.", wants: "only answer for yourself", do: func(_ *testing.T, a, _ *club) string {
		return a.answer(a.mez.DM(), func() { a.mez.Says(a.mez.DM(), "plan 12") }).Content
	}},
	{says: "An athlete who was parted from their account before they pressed.", wants: "I do not know you", keeps: true, do: func(t *testing.T, a, _ *club) string {
		m := a.answer(a.mez.DM(), func() { a.mez.Says(a.mez.DM(), "morning") })
		token := button(t, m, "2")
		a.answer(a.mez.DM(), func() { a.sam.Says(a.medical, "unlink 7") })
		a.settle()
		return a.forged(a.mez, a.mez.DM(), discordtest.Forged{Press: token})
	}},
}

// Each act alone: what is answered is one plain sentence, nothing is recorded that should not be, in neither
// team, coaches read nothing of it, and nobody is pinged.
func TestWhatMeansHarm(t *testing.T) {
	a := open(t, storetest.SQLite(t))
	b := a.another("rovers")
	for _, c := range []*club{a, b} {
		c.lines("add 7 Mere Tau", "add 12 Joss Okafor", "sprain 7 left "+cleared)
		if err := c.b.Link(t.Context(), c.g.ID, c.mez.ID, 7); err != nil {
			t.Fatal(err)
		}
	}
	for _, x := range acts {
		t.Run(x.says, func(t *testing.T) {
			a.t, b.t = t, t
			mine, theirs := a.record(), b.record()
			got := x.do(t, a, b)
			switch {
			case x.wants == "" && got != "":
				t.Errorf("answered %q", got)
			case !strings.Contains(got, x.wants):
				t.Errorf("answered %q, which does not say %q", got, x.wants)
			}
			if strings.Count(got, "\n") > 3 || strings.Contains(got, "did not work") {
				t.Errorf("that is no plain sentence: %q", got)
			}
			a.settle()
			if diff := firstDifference(mine, a.record()); diff != "" && !x.keeps {
				t.Errorf("recorded: %s", diff)
			}
			if diff := firstDifference(theirs, b.record()); diff != "" {
				t.Errorf("recorded in the other team: %s", diff)
			}
		})
	}
	a.t, b.t = t, t
	for _, c := range []*club{a, b} {
		kept(t, "the coach", append(received(c.cleo, c.staff, c.public), "-"), "sprain", "ankle", "Settle", "squeeze")
	}
	for _, p := range a.w.Pings() {
		t.Errorf("%s was pinged", p.Who)
	}
	if v := a.w.Violations(); len(v) > 0 {
		t.Errorf("violations: %q", v)
	}
}
