package discord_test

import (
	"bytes"
	"os"
	"testing"

	"footing/bot/discord/discordtest"
	"footing/store"
	"footing/store/storetest"
)

// A calendar file comes attached to a message or as the option of a slash command, and is taken by a press;
// one that is too large is never read, and that is said.
func TestACalendarFileComesAsAnAttachment(t *testing.T) {
	season, err := os.ReadFile("../testdata/season.ics")
	if err != nil {
		t.Fatal(err)
	}
	large := discordtest.File{Name: "all.ics", Type: "text/calendar", Data: append(bytes.Clone(season), make([]byte, 50<<20)...)}
	file := discordtest.File{Name: "season.ics", Type: "text/calendar", Data: season}
	storetest.Each(t, func(t *testing.T, db store.Config) {
		c := open(t, db)
		asked := c.answer(c.medical, func() { c.sam.Says(c.medical, "calendar", file) })
		says(t, asked.Content, "Sessions in the file", "I do not know the zone")
		done := c.final(c.sam.Presses(asked.ID, button(t, asked, "Record them")))
		says(t, done.Content, "Recorded:")
		again := c.run(c.cleo, c.staff, "calendar", discordtest.Opts{"file": file})
		says(t, again.Content, "standing already", "Nothing was changed")
		for _, m := range []discordtest.Message{
			c.answer(c.medical, func() { c.sam.Says(c.medical, "calendar", large) }),
			c.run(c.cleo, c.staff, "calendar", discordtest.Opts{"file": large}),
			c.answer(c.medical, func() { c.sam.Says(c.medical, "import", large) }),
		} {
			says(t, m.Content, "That file is over 1 MB. Nothing was taken")
		}
		says(t, c.run(c.cleo, c.staff, "calendar", nil).Content, "Attach the calendar")
	})
}
