package discord_test

import (
	"strings"
	"testing"

	"footing/bot/discord/discordtest"
	"footing/store"
	"footing/store/storetest"
)

const cleared = "tender none, walked, walks, circulation ok, squeeze -, er -, no modifiers"

// says fails unless a text holds every part.
func says(t *testing.T, text string, parts ...string) {
	t.Helper()
	for _, p := range parts {
		if !strings.Contains(text, p) {
			t.Errorf("%q is not in:\n%s", p, text)
		}
	}
}

// run uses a slash command and gives its final answer.
func (c *club) run(u *discordtest.User, ch *discordtest.Channel, name string, o discordtest.Opts) discordtest.Message {
	c.t.Helper()
	return c.final(u.Slash(ch, name, o))
}

func (c *club) final(i *discordtest.Interaction) discordtest.Message {
	c.t.Helper()
	var m discordtest.Message
	c.until("the answer to an interaction", func() bool {
		got, ok := i.Answer()
		m = got
		return ok && !got.Thinking
	})
	return m
}

// button is the id of a message's button with a label.
func button(t *testing.T, m discordtest.Message, label string) string {
	t.Helper()
	for _, row := range m.Rows {
		for _, b := range row {
			if b.Label == label {
				return b.CustomID
			}
		}
	}
	t.Fatalf("no button %q among %+v under:\n%s", label, m.Rows, m.Content)
	return ""
}

// The main job, by text, by slash command and by buttons.
func TestTheMainJobOnDiscord(t *testing.T) {
	storetest.Each(t, func(t *testing.T, db store.Config) {
		c := open(t, db)
		says(t, c.lines("add 7 Mere Tau, wing", "add 12 Joss Okafor").Content, "12 Joss Okafor")
		m := c.run(c.sam, c.medical, "sprain", discordtest.Opts{"athlete": "mere", "side": "left", "setting": "match", "findings": cleared})
		says(t, m.Content, "Screen complete", "Mere Tau")
		m = c.answer(c.medical, func() { c.sam.Says(c.medical, "test 7 gait normal, pain-walking 1, balance L 12") })
		says(t, m.Content, "gait normal")
		m = c.run(c.sam, c.medical, "ready", discordtest.Opts{"athlete": "7"})
		stay := c.final(c.sam.Presses(m.ID, button(t, m, "Stay")))
		says(t, stay.Content, "stays in Settle")
		again := c.final(c.sam.PressesLate(m.ID, button(t, m, "Stay")))
		says(t, again.Content, "answered already")
	})
}

// What only its reader sees, who may do what, and where.
func TestWhereAndWho(t *testing.T) {
	storetest.Each(t, func(t *testing.T, db store.Config) {
		c := open(t, db)
		c.lines("add 7 Mere Tau", "sprain 7 left "+cleared)
		m := c.run(c.sam, c.public, "clinic", nil)
		says(t, m.Content, "to see")
		if !m.Ephemeral {
			t.Error("a clinic list was shown in an open channel")
		}
		m = c.run(c.cleo, c.staff, "report", nil)
		says(t, m.Content, "Availability", "7 Mere Tau")
		if m.Ephemeral || strings.Contains(m.Content, "sprain") {
			t.Errorf("the report: %+v", m)
		}
		says(t, c.run(c.cleo, c.staff, "clinic", nil).Content, "You may not use clinic")
		says(t, c.run(c.mez, c.public, "sprain", discordtest.Opts{"athlete": "7", "side": "left"}).Content, "You may not use sprain")
		says(t, c.answer(c.public, func() { c.sam.Says(c.public, c.w.Bot().Mention()+" clinic") }).Content, "use it in the medical channel")
		before := len(c.public.Messages())
		c.sam.Says(c.public, "clinic") // not for the bot
		says(t, c.run(c.sam, c.medical, "help", nil).Content, "sprain")
		if got := len(c.public.Messages()); got != before+1 {
			t.Errorf("a line that was not for the bot was answered: %d messages, had %d", got, before)
		}
		if pings := c.w.Pings(); len(pings) > 0 {
			t.Errorf("the bot pinged: %v", pings)
		}
	})
}

// An edit replaces what its message recorded; a deletion is asked about.
func TestEditsAndDeletions(t *testing.T) {
	storetest.Each(t, func(t *testing.T, db store.Config) {
		c := open(t, db)
		c.lines("add 7 Mere Tau", "sprain 7 left "+cleared)
		var id string
		c.answer(c.medical, func() { id = c.sam.Says(c.medical, "test 7 balance L 9") })
		says(t, c.answer(c.medical, func() { c.sam.Edits(id, "test 7 balance L 19") }).Content, "Edited", "balance L 19")
		before := len(c.medical.Messages())
		c.w.PreviewLink(id, false)
		m := c.answer(c.medical, func() { c.sam.Deletes(id) })
		says(t, m.Content, "A message was deleted")
		if got := len(c.medical.Messages()); got != before { // one gone, one said; the preview said nothing
			t.Errorf("%d messages, want %d", got, before)
		}
	})
}

// While somebody types, only what they may see is suggested.
func TestSuggestions(t *testing.T) {
	storetest.Each(t, func(t *testing.T, db store.Config) {
		c := open(t, db)
		c.lines("add 7 Mere Tau", "add 12 Joss Okafor")
		i := c.sam.Autocompletes(c.medical, "sprain", "athlete", "mer", nil)
		c.w.Wait("suggestions", i.Answered)
		if list := i.Choices(); len(list) != 1 || list[0].Name != "7 Mere Tau" {
			t.Errorf("suggested %v", list)
		}
		i = c.mez.Autocompletes(c.public, "sprain", "athlete", "mer", nil)
		c.w.Wait("suggestions", i.Answered)
		if list := i.Choices(); len(list) != 0 {
			t.Errorf("a stranger was suggested %v", list)
		}
	})
}

// A note's text is asked for by a form.
func TestNoteByForm(t *testing.T) {
	storetest.Each(t, func(t *testing.T, db store.Config) {
		c := open(t, db)
		c.lines("add 7 Mere Tau", "sprain 7 left "+cleared)
		i := c.sam.Slash(c.medical, "note", discordtest.Opts{"athlete": "7"})
		c.w.Wait("a form", i.Answered)
		_, inputs, ok := i.Modal()
		if !ok || len(inputs) != 1 {
			t.Fatalf("no form, %v", inputs)
		}
		says(t, c.final(c.sam.Submits(i, map[string]string{inputs[0]: "slept badly"})).Content, "7 Mere Tau")
		says(t, c.run(c.sam, c.medical, "history", discordtest.Opts{"athlete": "7"}).Content, "slept badly")
	})
}
