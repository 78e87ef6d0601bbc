package discord_test

import (
	"strings"
	"testing"

	"footing/bot/discord/discordtest"
	"footing/store"
	"footing/store/storetest"
)

// A server the bot was just invited to: set up with pickers, an athlete linked by buttons, consent and the
// day's drills in direct messages.
func TestFromInvitationToDrills(t *testing.T) {
	storetest.Each(t, func(t *testing.T, db store.Config) {
		c := opened(t, db)
		says(t, c.run(c.mez, c.public, "setup", discordtest.Opts{"report": "08:00"}).Content, "not set up yet")
		m := c.run(c.boss, c.public, "setup", discordtest.Opts{
			"medical-role": c.medic, "coach-role": c.coach, "medical-channel": c.medical, "staff-channel": c.staff, "zone": "Pacific/Auckland", "sport": "rugby",
		})
		says(t, m.Content, "Pacific/Auckland", "<#"+c.medical.ID+">")
		says(t, c.run(c.mez, c.public, "setup", discordtest.Opts{"report": "03:00"}).Content, "may")
		c.lines("add 7 Mere Tau, wing, born 1999", "sprain 7 left "+cleared)

		card := c.answer(c.public, func() { c.run(c.sam, c.public, "invite", nil) })
		asked := c.final(c.mez.Presses(card.ID, button(t, card, "This is me")))
		if !asked.Ephemeral {
			t.Errorf("which shirt was asked before all: %+v", asked)
		}
		claim := c.answer(c.medical, func() { c.mez.Presses(asked.ID, button(t, asked, "7")) })
		says(t, claim.Content, "mez", "7 Mere Tau")
		consent := c.answer(c.mez.DM(), func() { c.sam.Presses(claim.ID, button(t, claim, "Confirm")) })
		says(t, c.answer(c.mez.DM(), func() { c.mez.Says(c.mez.DM(), "plan") }).Content, "yes or no first")
		says(t, c.final(c.mez.Presses(consent.ID, button(t, consent, "I agree"))).Content, "")

		plan := c.answer(c.mez.DM(), func() { c.mez.Says(c.mez.DM(), "plan") })
		says(t, plan.Content, "Settle", "Stop at pain")
		score := c.final(c.mez.Presses(plan.ID, button(t, plan, "Done")))
		done := c.final(c.mez.Presses(score.ID, button(t, score, "2")))
		says(t, done.Content, "pain 2")
		says(t, c.run(c.sam, c.medical, "history", discordtest.Opts{"athlete": "7"}).Content, "pain 2")
		if strings.Contains(c.run(c.cleo, c.staff, "report", nil).Content, "pain") {
			t.Error("coaches read a value")
		}
		for _, p := range c.w.Pings() {
			t.Errorf("%s was pinged", p.Who)
		}
		if v := c.w.Violations(); len(v) > 0 {
			t.Errorf("violations: %q", v)
		}
	})
}
