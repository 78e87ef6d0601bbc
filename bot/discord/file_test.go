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

// While one file is slow to come, everybody else is answered; what its author says next waits for it.
func TestASlowFileKeepsNobodyElseWaiting(t *testing.T) {
	season, err := os.ReadFile("../testdata/season.ics")
	if err != nil {
		t.Fatal(err)
	}
	c := open(t, storetest.SQLite(t))
	release := make(chan struct{})
	c.w.Fail(1, "GET", "/attachments/*/*/*", discordtest.Held(release))
	said := make(map[string]bool)
	c.sam.Says(c.medical, "calendar", discordtest.File{Name: "season.ics", Type: "text/calendar", Data: season})
	c.sam.Says(c.medical, "training sun 10:00")
	i := c.cleo.Slash(c.staff, "sessions", nil)
	var other discordtest.Message
	c.w.Wait("an answer to somebody else", func() (ok bool) {
		other, ok = i.Answer()
		return ok && !other.Thinking
	})
	says(t, other.Content, "No sessions in the next two weeks")
	for _, m := range c.medical.Messages() {
		said[m.ID] = true
	}
	close(release)
	var answers []string
	c.until("both answers", func() bool {
		answers = nil
		for _, m := range c.medical.Messages() {
			if m.Author == c.w.Bot().Name && !said[m.ID] {
				answers = append(answers, m.Content)
			}
		}
		return len(answers) == 2
	})
	says(t, answers[0], "Sessions in the file")
	says(t, answers[1], "Training Sun 8 Mar 10:00")
}
