package discord_test

import (
	"fmt"
	"testing"

	"footing/store"
)

// Chat that a moderator removes leaves nothing behind and is not answered; what was said to the bot in an open
// channel is marked when it is deleted, however soon that is.
func TestAPurgeOfChatIsNotTheBotsBusiness(t *testing.T) {
	onEach(t, func(t *testing.T, db store.Config) {
		c := impatient(t, db)
		var chat []string
		for i := range 180 {
			chat = append(chat, c.mez.Says(c.public, fmt.Sprint("chat ", i)))
		}
		known := c.count(`SELECT count(*) FROM messages`)
		c.public.Purge(chat[:90]...)
		for _, id := range chat[90:] {
			c.mez.Deletes(id)
		}
		record := c.mez.Says(c.public, c.w.Bot().Mention()+" wrong : my foot went cold")
		c.mez.Deletes(record)
		c.w.Wait("the deletion", func() bool {
			return c.count(`SELECT count(*) FROM messages WHERE key = $1 AND deleted_at IS NOT NULL`, record) == 1
		})
		if n := c.count(`SELECT count(*) FROM messages`); n != known+1 {
			t.Errorf("%d messages are kept that were %d before", n, known)
		}
		if n := c.heard(c.public, "Busy"); n != 0 {
			t.Error("the chat was told that the bot is busy")
		}
	})
}

// A deletion in direct messages counts also when nobody wrote there since the process began.
func TestADeletionInDirectMessagesAfterARestart(t *testing.T) {
	onEach(t, func(t *testing.T, db store.Config) {
		c := impatient(t, db)
		c.links(c.mez, "7")
		var id string
		c.answer(c.mez.DM(), func() { id = c.mez.Says(c.mez.DM(), "help") })
		c.stop()
		c.start()
		c.mez.Deletes(id)
		c.w.Wait("the deletion", func() bool {
			return c.count(`SELECT count(*) FROM messages WHERE key = $1 AND deleted_at IS NOT NULL`, id) == 1
		})
	})
}
