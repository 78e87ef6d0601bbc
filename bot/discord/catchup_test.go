package discord_test

import (
	"fmt"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/bwmarrin/discordgo"

	"footing/bot/discord/discordtest"
	"footing/store"
	"footing/store/storetest"
)

// What was posted, edited and deleted while the bot was away is read back in order, once, and judged by
// present roles.
func TestWhatWasMissedIsReadBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, db store.Config) {
		c := open(t, db)
		c.stop()
		c.start() // a first sweep of a team that is set up starts the cursors
		c.lines("add 7 Mere Tau", "sprain 7 left "+cleared)
		c.w.Wait("the cursors", func() bool {
			last, err := c.b.Cursor(t.Context(), c.medical.ID)
			return err == nil && last != ""
		})
		var edited, deleted string
		c.answer(c.medical, func() { edited = c.sam.Says(c.medical, "test 7 balance L 9") })
		c.answer(c.medical, func() { deleted = c.sam.Says(c.medical, "test 7 gait limp") })
		c.stop()
		c.sam.Edits(edited, "test 7 balance L 19")
		c.sam.Deletes(deleted)
		c.sam.Says(c.medical, "test 7 pain-walking 1")
		c.cleo.Says(c.staff, c.w.Bot().Mention()+" report")
		c.start()
		heard := func(parts ...string) func() bool {
			return func() bool {
				all := ""
				for _, m := range append(c.medical.Messages(), c.staff.Messages()...) {
					if m.Author == c.w.Bot().Name {
						all += m.Content + "\n"
					}
				}
				for _, p := range parts {
					if strings.Count(all, p) != 1 {
						return false
					}
				}
				return true
			}
		}
		c.w.Wait("what was missed", heard("balance L 19", "pain-walking 1", "A message was deleted", "Availability"))
		c.stop()
		c.start() // once more: nothing is said twice
		c.lines("ready 7")
		if !heard("pain-walking 1.", "A message was deleted", "Availability")() {
			t.Error("something was said twice")
		}
	})
}

// What somebody wrote who may manage the server is judged as theirs, also before a new process was told of the server.
func TestRightsAreKnownBeforeTheServerIsTold(t *testing.T) {
	storetest.Each(t, func(t *testing.T, db store.Config) {
		c := open(t, db)
		c.stop()
		c.start()
		c.lines("add 7 Mere Tau")
		c.w.Wait("the cursors", func() bool {
			last, err := c.b.Cursor(t.Context(), c.medical.ID)
			return err == nil && last != ""
		})
		c.stop()
		c.g.SetRoles(c.boss, c.medic, c.g.Role("board", discordgo.PermissionManageGuild))
		release := c.w.Gateway().HoldGuilds()
		defer release()
		c.boss.Says(c.medical, "setup report 08:10")
		c.start()
		c.until("an answer", func() bool { return c.saidBy("set the team up")+c.saidBy("You may not") > 0 })
		if c.saidBy("or whoever set the team up, may change") != 1 { // who may not manage the server hears that setup is not for them
			t.Errorf("they were told: %q", c.medical.Last().Content)
		}
	})
}

// What somebody wrote who has left the server since is nobody's, and keeps nothing behind it from being read back.
func TestWhoeverLeftHoldsNothingUp(t *testing.T) {
	storetest.Each(t, func(t *testing.T, db store.Config) {
		c := open(t, db)
		c.stop()
		c.start()
		c.lines("add 7 Mere Tau", "sprain 7 left "+cleared)
		c.w.Wait("the cursors", func() bool {
			last, err := c.b.Cursor(t.Context(), c.medical.ID)
			return err == nil && last != ""
		})
		c.stop()
		gone := c.g.Member("gone", c.medic)
		gone.Says(c.medical, "test 7 balance L 9")
		c.sam.Says(c.medical, "test 7 pain-walking 1")
		c.w.Fail(1, "GET", "/guilds/*/members/"+gone.ID, discordtest.Refused(404, 10007, "Unknown Member"))
		c.start()
		c.until("an answer", func() bool { return c.saidBy("pain-walking 1") == 1 })
		if n := c.saidBy("balance L 9"); n != 0 {
			t.Errorf("whoever left was answered %d times", n)
		}
	})
}

// A cursor moves once what was read is handled, also while somebody else's event is still being handled: in a
// busy service one always is.
func TestACursorMovesInABusyService(t *testing.T) {
	onEach(t, func(t *testing.T, db store.Config) {
		c := impatient(t, db)
		c.stop()
		var slow atomic.Bool
		begun, release := make(chan struct{}), make(chan struct{})
		c.step = func(name string) {
			if name == "received" && slow.CompareAndSwap(true, false) {
				close(begun)
				<-release
			}
		}
		c.start()
		slow.Store(true)
		c.cleo.Slash(c.public, "help", nil)
		<-begun
		defer close(release)
		id := c.sam.Says(c.medical, "test 7 balance L 9")
		c.w.Wait("an answer", func() bool { return c.saidBy("balance L 9.") == 1 })
		for v := 10; v < 13; v++ { // the cursor follows one sweep behind, and the first may have begun before the line
			before := c.w.Gateway().Identifies()
			c.w.Gateway().Cut()
			c.w.Wait("another session", func() bool { return c.w.Gateway().Identifies() > before && c.w.Gateway().Connected() })
			c.sam.Says(c.medical, fmt.Sprintf("test 7 balance L %d", v))
			c.w.Wait("an answer, once the room was read back", func() bool { return c.saidBy(fmt.Sprintf("balance L %d.", v)) == 1 })
		}
		c.w.Wait("the cursor", func() bool {
			last, err := c.b.Cursor(t.Context(), c.medical.ID)
			return err == nil && last >= id
		})
	})
}
