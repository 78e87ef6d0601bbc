package discord_test

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"footing/bot"
	"footing/bot/discord"
	"footing/bot/discord/discordtest"
	"footing/store"
	"footing/store/storetest"
)

// impatient is a club whose adapter waits moments for what it otherwise waits minutes for. The cursors are set.
func impatient(t *testing.T, db store.Config) *club {
	t.Helper()
	c := built(t, db)
	tool, err := bot.New(t.Context(), bot.Config{Store: c.store, Front: mute{}, Clock: c.w.Now, Log: quiet})
	if err != nil {
		t.Fatal(err)
	}
	c.setUp(tool) // before the first sweep, which starts the cursors
	c.w.Gateway().SetHeartbeat(200 * time.Millisecond)
	c.times = discord.Times{Open: time.Second, Silence: time.Second, First: 20 * time.Millisecond, Most: 100 * time.Millisecond}
	c.start()
	c.lines("add 7 Mere Tau", "sprain 7 left "+cleared)
	c.w.Wait("the cursors", func() bool {
		last, err := c.b.Cursor(t.Context(), c.medical.ID)
		return err == nil && last != ""
	})
	return c
}

// onEach runs a test on each engine; under the race detector, where both would take minutes, on PostgreSQL
// alone if it is there: make quick has SQLite.
func onEach(t *testing.T, f func(*testing.T, store.Config)) {
	t.Helper()
	t.Parallel()
	if raced && os.Getenv("FOOTING_TEST_PG_OWNER") != "" {
		t.Run("postgres", func(t *testing.T) { f(t, storetest.Postgres(t)) })
		return
	}
	storetest.Each(t, f)
}

// saidBy counts what the bot said in the medical room that holds a text.
func (c *club) saidBy(text string) (n int) {
	for _, m := range c.medical.Messages() {
		if m.Author == c.w.Bot().Name && strings.Contains(m.Content, text) {
			n++
		}
	}
	return n
}

// audit is what holds after every fault: each line was recorded once and answered once, nobody was pinged, and no
// request broke a rule.
func (c *club) audit(values ...int) {
	c.t.Helper()
	for _, v := range values {
		text := fmt.Sprintf("balance L %d.", v)
		c.until("an answer to "+text, func() bool { return c.saidBy(text) > 0 })
		if n := c.saidBy(text); n != 1 {
			c.t.Errorf("%q was said %d times", text, n)
		}
		if n := c.count(`SELECT count(*) FROM measurements WHERE test = 'balance' AND value = $1`, v); n != 1 {
			c.t.Errorf("balance %d was recorded %d times", v, n)
		}
	}
	if pings := c.w.Pings(); len(pings) > 0 {
		c.t.Errorf("pinged: %v", pings)
	}
	if wrong := c.w.Violations(); len(wrong) > 0 {
		c.t.Errorf("Discord's rules were broken: %v", wrong)
	}
}

// outwait lets time pass until nothing waits any more, however often it fails.
func (c *club) outwait() {
	c.t.Helper()
	for began := time.Now(); c.waiting() > 0 && time.Since(began) < 6*discordtest.Patience; time.Sleep(20 * time.Millisecond) {
		c.w.Advance(5 * time.Second)
		if err := c.b.Drain(c.t.Context()); err != nil {
			c.t.Fatal(err)
		}
	}
}

func (c *club) count(q string, args ...any) (n int) {
	c.t.Helper()
	if err := c.raw.QueryRow(q, args...).Scan(&n); err != nil {
		c.t.Fatal(err)
	}
	return n
}

// However the gateway fails, what was said meanwhile is dealt with once.
func TestTheGatewayFails(t *testing.T) {
	for name, fault := range map[string]func(*discordtest.Gateway){
		"cut":                              func(g *discordtest.Gateway) { g.Cut() },
		"asked to reconnect (op 7)":        func(g *discordtest.Gateway) { g.Reconnect() },
		"the session is invalid":           func(g *discordtest.Gateway) { g.Invalidate(false) },
		"closed with 4000":                 func(g *discordtest.Gateway) { g.Close(4000) },
		"cut in the middle of a message":   func(g *discordtest.Gateway) { g.CutDuring("MESSAGE_CREATE") },
		"a silent connection":              func(g *discordtest.Gateway) { g.Silence() },
		"no HELLO":                         func(g *discordtest.Gateway) { g.NoHello(2); g.Cut() },
		"no answer to IDENTIFY":            func(g *discordtest.Gateway) { g.NoAnswer(2); g.Cut() },
		"op 7 in place of READY":           func(g *discordtest.Gateway) { g.ReconnectFirst(2); g.Cut() },
		"cut again as soon as it is there": func(g *discordtest.Gateway) { g.Cut(); g.CutDuring("READY") },
	} {
		t.Run(name, func(t *testing.T) {
			onEach(t, func(t *testing.T, db store.Config) {
				c := impatient(t, db)
				c.lines("test 7 balance L 11")
				fault(c.w.Gateway())
				c.sam.Says(c.medical, "test 7 balance L 12")
				c.audit(11, 12)
				c.w.Wait("the gateway", c.w.Gateway().Connected)
				c.lines("test 7 balance L 13")
				c.audit(11, 12, 13)
			})
		})
	}
}

// What no new try mends ends the adapter with what to change: a token that is refused, and intents that are not granted.
func TestWhatNoNewTryMends(t *testing.T) {
	for name, c := range map[string]struct {
		token string
		says  string
	}{"token": {"wrong", "reset it"}, "intents": {"", "Message Content Intent"}} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := discordtest.New(t)
			w.Guild("harbour")
			a, err := discord.New(discord.Config{Token: cmp.Or(c.token, strings.TrimPrefix(w.Token(), "Bot ")), Content: true, Transport: w.Transport(), Log: quiet, Clock: w.Now})
			if err != nil {
				t.Fatal(err)
			}
			b, err := bot.New(t.Context(), bot.Config{Store: storetest.Open(t, storetest.SQLite(t)), Front: a, Clock: w.Now, Log: quiet})
			if err != nil {
				t.Fatal(err)
			}
			ctx, cancel := context.WithTimeout(context.Background(), discordtest.Patience)
			defer cancel()
			a.Use(b, bot.NewQueue(ctx, b, 10))
			err = a.Run(ctx)
			var fatal *discord.Fatal
			if !errors.As(err, &fatal) || !strings.Contains(fatal.Says, c.says) {
				t.Errorf("it ended with %v", err)
			}
		})
	}
}

// Whatever becomes of a request that says something, one message is to be seen, and none comes into a closed window.
func TestRequestsFail(t *testing.T) {
	times := []int{1, 4}
	if raced {
		times = times[:1] // they wait for each other then
	}
	for name, fault := range map[string]discordtest.Fault{
		"500":                       discordtest.Status(500),
		"502":                       discordtest.Status(502),
		"503":                       discordtest.Status(503),
		"the request is lost":       discordtest.RequestLost(),
		"the answer is lost":        discordtest.AnswerLost(),
		"the route is limited":      discordtest.RateLimited(300*time.Millisecond, false),
		"the room is limited":       discordtest.RateLimited(300*time.Millisecond, true),
		"everything is limited":     discordtest.GloballyLimited(300 * time.Millisecond),
		"the network's edge limits": discordtest.EdgeLimited(time.Second),
	} {
		for _, n := range times {
			t.Run(fmt.Sprint(name, " × ", n), func(t *testing.T) {
				onEach(t, func(t *testing.T, db store.Config) {
					c := impatient(t, db)
					c.w.Fail(n, "POST", "/channels/*/messages", fault)
					for v := 11; v <= 13; v++ {
						c.sam.Says(c.medical, fmt.Sprintf("test 7 balance L %d", v))
					}
					c.w.Wait("all three", func() bool {
						return c.count(`SELECT count(*) FROM measurements WHERE value BETWEEN 11 AND 13`) == 3
					})
					c.handled()
					c.outwait()
					c.audit(11, 12, 13)
				})
			})
		}
	}
}
