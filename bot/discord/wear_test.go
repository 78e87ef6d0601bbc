package discord_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"footing/bot/discord/discordtest"
	"footing/rehab"
	"footing/store"
	"footing/store/storetest"
)

// what goes wrong on a server, and how the bot is right again afterwards.
var wear = map[string]func(t *testing.T, c *club){
	"The medical channel is deleted: slash commands answer only their reader, and another is chosen": func(t *testing.T, c *club) {
		c.medical.Delete()
		m := c.run(c.sam, c.public, "clinic", nil)
		says(t, m.Content, "Clinic")
		if !m.Ephemeral {
			t.Error("medical detail was said before all")
		}
		c.medical = c.g.PrivateChannel("new-room", c.medic, c.g.BotRole())
		says(t, c.run(c.boss, c.public, "setup", discordtest.Opts{"medical-channel": c.medical}).Content, "medical channel <#"+c.medical.ID+"> (was <#")
		says(t, c.lines("note 7: seen").Content, "Note kept")
	},
	"The staff channel is deleted: medical staff hear that the report did not get out": func(t *testing.T, c *club) {
		c.staff.Delete()
		zone, err := time.LoadLocation("Pacific/Auckland")
		if err != nil {
			t.Fatal(err)
		}
		c.w.SetClock(rehab.Clock(7*60+31).On(c.w.Now().In(zone).AddDate(0, 0, 1), zone))
		for range 2 { // what was given up is collected for a minute
			if err := c.b.Tick(t.Context()); err != nil {
				t.Error(err)
			}
			c.w.Advance(2 * time.Minute)
		}
		c.until("a word to medical staff", func() bool {
			return slices.ContainsFunc(c.medical.Messages(), func(m discordtest.Message) bool { return strings.Contains(m.Content, "the channel is gone") })
		})
	},
	"The medical role is deleted: whoever had it, or claims it, is nobody": func(t *testing.T, c *club) {
		before := c.record()
		c.medic.Delete()
		says(t, c.run(c.sam, c.public, "note", discordtest.Opts{"athlete": "7", "text": "x"}).Content, "You may not use note")
		says(t, c.forged(c.sam, c.public, discordtest.Forged{Command: "history", Options: []map[string]any{option("athlete", 3, "7")}, Roles: []string{c.medic.ID}}), "You may not use history")
		if diff := firstDifference(before, c.record()); diff != "" {
			t.Errorf("recorded: %s", diff)
		}
		medic := c.g.Role("physio")
		c.g.SetRoles(c.sam, medic)
		c.medical.Overwrite(medic, discordtest.ViewChannel, 0)
		says(t, c.run(c.boss, c.public, "setup", discordtest.Opts{"medical-role": medic}).Content, "medical role")
		says(t, c.run(c.sam, c.public, "history", discordtest.Opts{"athlete": "7"}).Content, "sprain")
	},
	"The bot is removed and invited again: nothing falls due meanwhile, and the record is there": func(t *testing.T, c *club) {
		before := c.record()
		c.g.Expel()
		c.until("that it was removed", func() bool {
			c.w.Notify()
			team, err := c.b.Team(t.Context(), c.g.ID)
			return err == nil && !team.Gone.IsZero()
		})
		n := len(c.staff.Messages())
		c.w.Advance(48 * time.Hour)
		if err := c.b.Tick(t.Context()); err != nil {
			t.Error(err)
		}
		c.g.Invite()
		says(t, c.lines("history 7").Content, "sprain")
		if len(c.staff.Messages()) != n {
			t.Errorf("said meanwhile: %q", c.staff.Last().Content)
		}
		if diff := firstDifference(before, c.record()); diff != "" {
			t.Errorf("the record is another: %s", diff)
		}
	},
	"The bot may not speak in the medical channel for a while: what it has to say is said afterwards": func(t *testing.T, c *club) {
		c.medical.Overwrite(c.w.Bot(), discordtest.ViewChannel, discordtest.SendMessages)
		n := len(c.medical.Messages())
		before := len(c.record())
		c.sam.Says(c.medical, "note 7: kept all the same")
		c.w.Wait("the note", func() bool { return len(c.record()) > before })
		says(t, c.run(c.sam, c.public, "history", discordtest.Opts{"athlete": "7"}).Content, "kept all the same")
		if len(c.medical.Messages()) != n+1 {
			t.Errorf("said: %q", c.medical.Last().Content)
		}
		c.medical.Overwrite(c.w.Bot(), discordtest.ViewChannel, 0)
		c.w.Advance(15 * time.Minute)
		says(t, c.answer(c.medical, func() {
			if err := c.b.Tick(t.Context()); err != nil {
				t.Error(err)
			}
		}).Content, "Note kept")
	},
	"An athlete closes their direct messages: medical staff are told, and once they write themselves they are answered": func(t *testing.T, c *club) {
		c.mez.CloseDMs()
		says(t, c.lines("link 7 account "+c.mez.Mention()).Content, "is linked with")
		c.settle()
		c.w.Advance(2 * time.Minute)
		says(t, c.answer(c.medical, func() {
			if err := c.b.Tick(t.Context()); err != nil {
				t.Error(err)
			}
		}).Content, "their direct messages are closed")
		c.mez.OpenDMs()
		says(t, c.answer(c.mez.DM(), func() { c.mez.Says(c.mez.DM(), "morning") }).Content, "I need your yes or no first")
	},
	"The medical channel is opened to all while a card waits: no detail, until it is closed again": func(t *testing.T, c *club) {
		c.medical.Overwrite(c.g.Everyone(), discordtest.ViewChannel, 0)
		m := c.lines("ready 7")
		says(t, m.Content, "No detail here", "everyone")
		kept(t, "anyone", []string{m.Content}, "Mere", "sprain", "Settle")
		c.medical.Overwrite(c.g.Everyone(), 0, discordtest.ViewChannel)
		says(t, c.lines("ready 7").Content, "Settle")
	},
}

func TestWearAndTear(t *testing.T) {
	for what, do := range wear {
		t.Run(what, func(t *testing.T) {
			c := open(t, storetest.SQLite(t))
			c.ready(c.g.Name)
			c.lines("add 7 Mere Tau", "sprain 7 left "+cleared)
			do(t, c)
			for _, p := range c.w.Pings() {
				t.Errorf("%s was pinged", p.Who)
			}
			if v := c.w.Violations(); len(v) > 0 {
				t.Errorf("violations: %q", v)
			}
		})
	}
}

// Somebody who plays for two teams is asked which one a direct message is for; what they press belongs to the
// team it was asked for; and neither team reads or holds anything of the other's.
func TestAPlayerOfTwoTeams(t *testing.T) {
	storetest.Each(t, func(t *testing.T, db store.Config) {
		a := open(t, db)
		a.ready(a.g.Name)
		b := a.another("rovers")
		mez := a.mez
		b.g.Member("mez")
		for c, shirt := range map[*club]string{a: "7", b: "9"} {
			c.lines("add "+shirt+" Mere Tau", "add 12 Joss Okafor", "sprain "+shirt+" left "+cleared)
			n := 7
			if shirt == "9" {
				n = 9
			}
			if err := c.b.Link(t.Context(), c.g.ID, mez.ID, n); err != nil {
				t.Fatal(err)
			}
		}
		before := map[*club][]string{a: a.record(), b: b.record()}
		a.w.Advance(24 * time.Hour)
		ask := a.answer(mez.DM(), func() { mez.Says(mez.DM(), "morning pain 3 same") })
		says(t, ask.Content, "more than one team")
		unchanged := func(c *club) {
			t.Helper()
			if diff := firstDifference(before[c], c.record()); diff != "" {
				t.Errorf("recorded: %s", diff)
			}
		}
		unchanged(a)
		unchanged(b)
		says(t, a.final(mez.Presses(ask.ID, button(t, ask, "rovers"))).Content, "pain 3, swelling same")
		unchanged(a)
		says(t, b.record()[len(before[b])-1], "responded") // before 12's
		before[b] = b.record()
		says(t, a.final(mez.PressesLate(ask.ID, button(t, ask, "harbour"))).Content, "answered already")
		unchanged(a)

		before[a] = a.record()
		says(t, a.answer(mez.DM(), func() { mez.Says(mez.DM(), "plan") }).Content, "more than one team")
		if got := len(a.record()) - len(before[a]); got != 0 {
			t.Errorf("a plan was chosen before the team was")
		}
		says(t, a.final(mez.Slash(mez.DM(), "morning", discordtest.Opts{"pain": 2})).Content, "type that as a line here")
		says(t, a.lines("history 7").Content, "7 Mere Tau")
		says(t, b.lines("history 7").Content, "7")
		for c, other := range map[*club]*club{a: b, b: a} {
			for _, u := range []string{other.g.ID, other.sam.ID, other.medical.ID} {
				kept(t, "the physio of the other team", received(c.sam, c.medical, c.staff), u)
			}
		}
		kept(t, "the physio of harbour", received(a.sam, a.medical, a.staff), "pain 3")
	})
}
