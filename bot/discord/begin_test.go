package discord_test

import (
	"testing"

	"footing/bot/discord/discordtest"
	"footing/store/storetest"
)

// A message that came in before a room was first read is read back later all the same, in case the process
// died before it had handled it.
func TestARoomBeginsWhereTheConnectionDid(t *testing.T) {
	c := open(t, storetest.SQLite(t))
	c.stop()
	release := make(chan struct{})
	c.w.Fail(1, "GET", "/channels/"+c.medical.ID+"/messages", discordtest.Held(release))
	c.start()
	id := c.sam.Says(c.medical, "add 7 Mere Tau")
	close(release)
	c.w.Wait("an answer", func() bool { return len(c.medical.Messages()) == 2 })
	cursor := ""
	c.w.Wait("the room's beginning", func() bool {
		var err error
		if cursor, err = c.b.Cursor(t.Context(), c.medical.ID); err != nil {
			t.Error(err)
		}
		return cursor != ""
	})
	if cursor >= id && len(cursor) == len(id) {
		t.Errorf("it begins at %s, after the message %s", cursor, id)
	}
}
