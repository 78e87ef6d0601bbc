package discord_test

import (
	"strings"
	"testing"
	"time"

	"github.com/bwmarrin/discordgo"

	"footing/bot"
	"footing/bot/discord/discordtest"
	"footing/store"
	"footing/store/storetest"
)

// The medical channel is opened to coaches while no event arrives: before detail is said there, who reads it
// is asked for anew, and what was composed for medical eyes is not said.
func TestAnOldCheckOfTheMedicalChannelIsNotTrusted(t *testing.T) {
	storetest.Each(t, func(t *testing.T, db store.Config) {
		c := open(t, db)
		c.lines("add 7 Mere Tau", "sprain 7 left "+cleared)
		c.w.Gateway().Silence()
		c.medical.Overwrite(c.coach, discordtest.ViewChannel, 0)
		c.w.Advance(11 * time.Minute)
		line := func(id, text string) discordtest.Message { // as another process hears it
			return c.answer(c.medical, func() {
				if err := c.b.Handle(t.Context(), bot.Inbound{
					Kind: bot.Created, Team: c.g.ID, Message: id, Author: c.sam.ID, ChatRoles: []string{c.medic.ID}, Channel: c.medical.ID, Text: text, Sent: c.w.Now(),
				}); err != nil {
					t.Error(err)
				}
			})
		}
		m := line("901", "ready 7")
		says(t, m.Content, "No detail here", "the role coach")
		if strings.Contains(m.Content, "Mere") || len(m.Rows) > 0 {
			t.Errorf("coaches read %q", m.Content)
		}
		c.medical.Overwrite(c.coach, 0, discordtest.ViewChannel)
		c.w.Advance(11 * time.Minute)
		says(t, line("902", "help").Content, "No detail") // written while it was open
		says(t, line("903", "ready 7").Content, "Mere Tau")
	})
}

// Who can read the medical channel is named, also where Discord itself gave them the role or they can read all.
func TestWhoReadsTheMedicalChannelIsNamed(t *testing.T) {
	for name, open := range map[string]func(c *club) string{
		"boosters": func(c *club) string {
			boosters := c.g.Role("boosters")
			boosters.SetManaged()
			c.medical.Overwrite(boosters, discordtest.ViewChannel, 0)
			return "the role boosters: take “View Channel”"
		},
		"coaches who are administrators": func(c *club) string {
			c.coach.SetPermissions(discordgo.PermissionAdministrator)
			return "the role coach: take “Administrator”"
		},
	} {
		t.Run(name, func(t *testing.T) {
			onEach(t, func(t *testing.T, db store.Config) {
				c := impatient(t, db)
				team, err := c.b.Team(t.Context(), c.g.ID)
				if err != nil || team.RoomFault != "" { // the bot reads it too, by a role that is managed
					t.Fatalf("%q, %v", team.RoomFault, err)
				}
				want := open(c)
				c.w.Wait("the fault", func() bool {
					team, err := c.b.Team(t.Context(), c.g.ID)
					return err == nil && strings.Contains(team.RoomFault, want)
				})
			})
		})
	}
}

// A button that was shown while the medical channel was private is answered to whoever presses it, and to them alone.
func TestAnOldButtonWhereOthersReadNow(t *testing.T) {
	onEach(t, func(t *testing.T, db store.Config) {
		c := impatient(t, db)
		m := c.lines("note 7: ice")
		c.medical.Overwrite(c.coach, discordtest.ViewChannel, 0)
		c.w.Wait("the fault", func() bool {
			team, err := c.b.Team(t.Context(), c.g.ID)
			return err == nil && team.RoomFault != ""
		})
		got := c.final(c.sam.Presses(m.ID, button(t, m, "Undo")))
		says(t, got.Content, "Undone: 7 Mere Tau")
		if !got.Ephemeral {
			t.Error("coaches read it")
		}
	})
}
