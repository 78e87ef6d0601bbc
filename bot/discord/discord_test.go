package discord_test

import (
	"context"
	"database/sql"
	"flag"
	"io"
	"log/slog"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/bwmarrin/discordgo"
	"go.uber.org/goleak"

	"footing/bot"
	"footing/bot/discord"
	"footing/bot/discord/discordtest"
	"footing/rehab"
	"footing/store"
	"footing/store/storetest"
)

func TestMain(m *testing.M) {
	flag.Parse()
	if at := flag.Lookup("test.parallel"); !raced && at.Value.String() == at.DefValue { // most tests here wait, for windows and connections
		_ = flag.Set("test.parallel", strconv.Itoa(4*runtime.GOMAXPROCS(0)))
	}
	// The library waits for itself for ever when it is told to reconnect before it was ready: that goroutine is lost.
	goleak.VerifyTestMain(m, goleak.IgnoreTopFunction("database/sql.(*DB).connectionOpener"), goleak.IgnoreAnyFunction("github.com/bwmarrin/discordgo.(*Session).CloseWithCode"))
}

// club is a server that is set up, with a medic, a coach and somebody else.
type club struct {
	t              *testing.T
	w              *discordtest.World
	g              *discordtest.Guild
	medical, staff *discordtest.Channel
	public         *discordtest.Channel
	medic, coach   *discordtest.Role
	sam, cleo, mez *discordtest.User
	boss           *discordtest.User // may manage the server
	db             store.Config
	store          *store.Store
	raw            *sql.DB // past row security, as somebody with SQL sees it
	b              *bot.Bot
	handled        func() // waits until all that the queue was given is done with
	stop           func()
	times          discord.Times // of the next start; zero for a server's
	workers        int           // that send what waits; without any, the test drains
	step           func(string)  // told each step of a message's path; nil for nobody
}

var quiet = slog.New(slog.NewTextHandler(io.Discard, nil))

// opened starts the bot on a server that nobody has set up, with message text readable.
func opened(t *testing.T, db store.Config) *club {
	t.Helper()
	c := built(t, db)
	c.start()
	return c
}

// built is opened before the bot starts.
func built(t *testing.T, db store.Config) *club {
	t.Helper()
	t.Parallel()
	return founded(t, db, 0, nil)
}

// alone is opened in a test that runs by itself, with so many workers that send, as a server has; step is told
// each of bot.Steps.
func alone(t *testing.T, db store.Config, workers int, step func(string)) *club {
	t.Helper()
	c := founded(t, db, workers, step)
	c.start()
	return c
}

func founded(t *testing.T, db store.Config, workers int, step func(string)) *club {
	t.Helper()
	w := discordtest.New(t)
	w.Allow(int(discordgo.IntentMessageContent))
	c := &club{t: t, w: w, g: w.Guild("harbour"), db: db, store: storetest.Open(t, db), workers: workers, step: step}
	c.raw = c.store.DB()
	if db.OwnerURL != "" {
		var err error
		if c.raw, err = sql.Open("postgres", db.OwnerURL); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = c.raw.Close() })
	}
	c.medic, c.coach = c.g.Role("medic"), c.g.Role("coach")
	c.medical = c.g.PrivateChannel("treatment-room", c.medic, c.g.BotRole())
	c.staff = c.g.PrivateChannel("staff", c.medic, c.coach, c.g.BotRole())
	c.public = c.g.Channel("talk")
	c.sam, c.cleo, c.mez = c.g.Member("sam", c.medic), c.g.Member("cleo", c.coach), c.g.Member("mez")
	c.boss = c.g.Member("boss", c.g.Role("committee", discordgo.PermissionManageGuild))
	return c
}

// open is opened, set up.
func open(t *testing.T, db store.Config) *club {
	t.Helper()
	c := opened(t, db)
	c.setUp(c.b)
	return c
}

func (c *club) setUp(b *bot.Bot) {
	c.t.Helper()
	if _, err := b.PutTeam(c.t.Context(), rehab.Team{
		Key: c.g.ID, Name: "Harbour Kestrels", Zone: "Pacific/Auckland", ReportAt: "07:30",
		Rooms: rehab.Rooms{MedicalRoles: []string{c.medic.ID}, CoachRoles: []string{c.coach.ID}, Medical: c.medical.ID, Staff: c.staff.ID},
	}); err != nil {
		c.t.Fatal(err)
	}
}

// start runs the bot as a fresh process would; stop ends it, and so does the end of the test.
func (c *club) start() {
	c.t.Helper()
	a, err := discord.New(discord.Config{Token: strings.TrimPrefix(c.w.Token(), "Bot "), Content: true, Transport: c.w.Transport(), Log: quiet, Clock: c.w.Now, Times: c.times})
	if err != nil {
		c.t.Fatal(err)
	}
	c.b, err = bot.New(c.t.Context(), bot.Config{Store: c.store, Front: a, Clock: c.w.Now, Log: quiet, Step: func(name string) {
		if name == "committed" {
			c.w.Notify()
		}
		if c.step != nil {
			c.step(name)
		}
	}})
	if err != nil {
		c.t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	q := bot.NewQueue(ctx, c.b, 100)
	a.Use(c.b, q)
	c.handled = q.Wait
	ended := make(chan error, 1)
	go func() { ended <- a.Run(ctx) }()
	var sending sync.WaitGroup
	if c.workers > 0 {
		sending.Go(func() { c.b.Deliver(ctx, c.workers, nil) })
	}
	c.stop = sync.OnceFunc(func() {
		q.Wait()
		cancel()
		sending.Wait()
		select {
		case err := <-ended:
			if err != nil {
				c.t.Error(err)
			}
		case <-time.After(discordtest.Patience):
			c.t.Error("the adapter did not stop")
		}
	})
	c.t.Cleanup(c.stop)
	select {
	case <-a.Up():
	case err := <-ended:
		ended <- nil
		c.t.Fatalf("the adapter ended at once: %v", err)
	case <-time.After(discordtest.Patience):
		c.t.Fatal("the gateway was never ready")
	}
	c.w.Wait("the server", c.w.Gateway().Connected)
}

// answer waits for the next thing the bot says in a channel.
func (c *club) answer(ch *discordtest.Channel, do func()) discordtest.Message {
	c.t.Helper()
	old := map[string]bool{}
	for _, m := range ch.Messages() {
		old[m.ID] = true
	}
	do()
	var m discordtest.Message
	c.until("an answer", func() bool {
		for _, said := range ch.Messages() {
			if said.Author == c.w.Bot().Name && !old[said.ID] && !said.Thinking {
				m = said
				return true
			}
		}
		return false
	})
	return m
}

// until waits for something the bot does. No worker runs here that would say what had to wait for the limit
// of requests a second: that is done meanwhile.
func (c *club) until(what string, done func() bool) {
	c.t.Helper()
	for began := time.Now(); !done() && time.Since(began) < discordtest.Patience; {
		c.w.Wait(what, func() bool { return done() || c.waiting() > 0 })
		c.settle()
	}
	c.w.Wait(what, done)
}

// settle says all that waits to be said, and returns when it is also marked as said, so that the clock may move.
func (c *club) settle() {
	c.t.Helper()
	c.handled()
	for began := time.Now(); c.waiting() > 0 && time.Since(began) < discordtest.Patience; {
		c.w.Advance(10 * time.Millisecond)
		if err := c.b.Drain(c.t.Context()); err != nil {
			c.t.Fatal(err)
		}
	}
}

// waiting counts what is still to be said, but for what was refused and is tried again much later.
func (c *club) waiting() (n int) {
	c.t.Helper()
	const unsaid = `SELECT COUNT(*) FROM outbox WHERE sent_at IS NULL AND dead_at IS NULL AND COALESCE(last_error, '') IN ('', 'busy')`
	if err := c.raw.QueryRowContext(c.t.Context(), unsaid).Scan(&n); err != nil {
		c.t.Fatal(err)
	}
	return n
}

// lines sends one line after the other in the medical room, each once the one before is answered.
func (c *club) lines(texts ...string) (last discordtest.Message) {
	c.t.Helper()
	for _, text := range texts {
		last = c.answer(c.medical, func() { c.sam.Says(c.medical, text) })
	}
	return last
}

func TestALineInTheMedicalRoom(t *testing.T) {
	storetest.Each(t, func(t *testing.T, db store.Config) {
		c := open(t, db)
		m := c.lines("add 7 Mere Tau, wing", "sprain 7 left match inversion no-contact")
		if !strings.Contains(m.Content, "NOT CLEARED") {
			t.Errorf("said %q", m.Content)
		}
	})
}
