package discord_test

import (
	"strings"
	"testing"
	"time"

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
