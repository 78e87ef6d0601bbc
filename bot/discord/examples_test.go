package discord_test

import (
	"slices"
	"strings"
	"testing"

	"footing/bot/discord/discordtest"
	"footing/commands"
	"footing/rehab"
	"footing/store/storetest"
)

// before is what is said before the examples of a command, or before one of them, so that they have something
// to do.
var before = map[string][]string{
	"add 12 Ana Reed, centre, female, nick Annie, born 2009-05-02": {"change 12 shirt 13"},
	"change 7 shirt 17": {"change 12 shirt 14", "change 13 shirt 12"},
	"lift-hold":         {"screen 7 tender bone-outer"},
	"morning":           {"undo"},
	"return":            {"step-back 7 sore"},
	"done":              {"plan 7"},
	"change 7 name Mere Tau-Hale, position lock, nick Mez, born 1999-04-30, leg 88.5, sex female": {"change 17 shirt 7"},
	"attended":  {"add 9 Ilse Brandt"},
	"guardian":  {"change 7 born 2012"},
	"available": {"unavailable 12 illness"},
	"seen":      {"wrong 7"},
	"undo":      {"note 7: by mistake"},
}

// records are the commands of which at least one example must leave a record.
var records = []string{"sprain", "screen", "lift-hold", "test", "morning", "advance", "stay", "step-back", "support", "plan", "done", "effort", "wrong",
	"unavailable", "modified", "limit", "available", "seen", "training", "match", "move", "cancel", "undo", "note", "past", "add", "change", "link", "unlink", "consent", "guardian", "setup"}

// Every example of every command, by one team typed as lines and by another filled into slash commands, one
// after the other: after each both have the same on record, and read the same answer.
func TestEveryExampleByLineAndBySlash(t *testing.T) {
	db := storetest.SQLite(t)
	a := open(t, db)
	a.ready(a.g.Name)
	b := a.another("byslash")
	read := b.reader()
	left := map[string]bool{}
	for _, c := range []*club{a, b} {
		c.lines("add 7 Mere Tau, wing, born 1999", "add 12 Joss Okafor")
		if err := c.b.Link(t.Context(), c.g.ID, c.mez.ID, 12); err != nil {
			t.Fatal(err)
		}
	}
	for _, cmd := range read.reg.Commands() {
		for _, c := range []*club{a, b} {
			c.lines(before[cmd.Name]...)
		}
		for _, e := range cmd.Examples {
			for _, c := range []*club{a, b} {
				c.lines(before[e]...)
			}
			old := a.record()
			u, ch, _ := a.whoSays(cmd)
			line := a.own(e)
			if ch == a.public {
				line = a.w.Bot().Mention() + " " + line
			}
			said := a.answer(ch, func() { u.Says(ch, line) })
			v, at, self := b.whoSays(cmd)
			var filled discordtest.Message
			if slices.Contains(a.w.Commands(nil), cmd.Name) {
				filled = read.slash(v, at, b.own(e), self)
			} else { // only ever pressed
				filled = b.answer(at, func() { v.Says(at, b.own(e)) })
			}
			a.settle()
			now := a.record()
			if diff := firstDifference(a.plain(now), b.plain(b.record())); diff != "" {
				t.Fatalf("%q by line and by slash: %s", e, diff)
			}
			if x, y := a.plain([]string{said.Content}), b.plain([]string{filled.Content}); x[0] != y[0] {
				t.Errorf("%q by line answers\n%s\nby slash\n%s", e, x[0], y[0])
			}
			left[cmd.Name] = left[cmd.Name] || firstDifference(old, now) != ""
		}
	}
	for _, name := range records {
		if !left[name] {
			t.Errorf("no example of %s leaves a record", name)
		}
	}
	if v := a.w.Violations(); len(v) > 0 {
		t.Errorf("violations: %q", v)
	}
}

// whoSays is who uses a command, and where; self is their shirt when it is about themselves.
func (c *club) whoSays(cmd *commands.Command) (*discordtest.User, *discordtest.Channel, int) {
	switch {
	case cmd.Privacy == commands.OwnOnly && cmd.BeforeConsent || cmd == commands.MyData:
		return c.mez, c.mez.DM(), 12
	case cmd.Needs == rehab.ManageTeam:
		return c.boss, c.public, 0
	case cmd == commands.InviteCmd || cmd == commands.LinkMe:
		return c.sam, c.public, 0
	}
	return c.sam, c.medical, 0
}

// own is an example with the team's own roles, channels and accounts in it.
func (c *club) own(example string) string {
	return strings.NewReplacer("<@&1>", c.medic.Mention(), "<@&2>", c.coach.Mention(), "<#3>", "<#"+c.medical.ID+">", "<#4>", "<#"+c.staff.ID+">", "<@1>", c.cleo.Mention()).Replace(example)
}

// plain is text without what differs between the teams.
func (c *club) plain(list []string) (out []string) {
	ids := strings.NewReplacer(c.g.ID, "server", c.medic.ID, "medic", c.coach.ID, "coach", c.medical.ID, "medical", c.staff.ID, "staff", c.cleo.ID, "cleo", c.mez.ID, "mez",
		c.sam.Name, "sam", c.cleo.Name, "cleo", c.mez.Name, "mez", c.boss.Name, "boss", c.g.Name, "team")
	for _, text := range list {
		out = append(out, ids.Replace(text))
	}
	return out
}
