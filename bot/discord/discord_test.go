package discord_test

import (
	"context"
	"io"
	"log/slog"
	"strings"
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
	goleak.VerifyTestMain(m, goleak.IgnoreTopFunction("database/sql.(*DB).connectionOpener"))
}

// club is a server that is set up, with a medic, a coach and an athlete.
type club struct {
	t              *testing.T
	w              *discordtest.World
	g              *discordtest.Guild
	medical, staff *discordtest.Channel
	public         *discordtest.Channel
	sam, cleo, mez *discordtest.User
	b              *bot.Bot
}

// open starts the bot on a stand-in for Discord, with message text readable.
func open(t *testing.T, db store.Config) *club {
	t.Helper()
	w := discordtest.New(t)
	w.Allow(int(discordgo.IntentMessageContent))
	c := &club{t: t, w: w, g: w.Guild("harbour")}
	medic, coach := c.g.Role("medic"), c.g.Role("coach")
	c.medical = c.g.PrivateChannel("treatment-room", medic, c.g.BotRole())
	c.staff = c.g.PrivateChannel("staff", medic, coach, c.g.BotRole())
	c.public = c.g.Channel("talk")
	c.sam, c.cleo, c.mez = c.g.Member("sam", medic), c.g.Member("cleo", coach), c.g.Member("mez")
	a, err := discord.New(discord.Config{Token: strings.TrimPrefix(w.Token(), "Bot "), Content: true, Transport: w.Transport(), Log: slog.New(slog.NewTextHandler(io.Discard, nil)), Clock: w.Now})
	if err != nil {
		t.Fatal(err)
	}
	c.b, err = bot.New(t.Context(), bot.Config{Store: storetest.Open(t, db), Front: a, Clock: w.Now, Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := c.b.PutTeam(t.Context(), rehab.Team{
		Key: c.g.ID, Name: "Harbour Kestrels", Zone: "Pacific/Auckland", ReportAt: "07:30",
		Rooms: rehab.Rooms{MedicalRoles: []string{medic.ID}, CoachRoles: []string{coach.ID}, Medical: c.medical.ID, Staff: c.staff.ID},
	}); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	q := bot.NewQueue(ctx, c.b, 100)
	a.Use(c.b, q)
	ended := make(chan error, 1)
	go func() { ended <- a.Run(ctx) }()
	t.Cleanup(func() {
		q.Wait()
		stop()
		select {
		case err := <-ended:
			if err != nil {
				t.Error(err)
			}
		case <-time.After(discordtest.Patience):
			t.Error("the adapter did not stop")
		}
	})
	select {
	case <-a.Up():
	case err := <-ended:
		ended <- nil
		t.Fatalf("the adapter ended at once: %v", err)
	case <-time.After(discordtest.Patience):
		t.Fatal("the gateway was never ready")
	}
	w.Wait("the server", w.Gateway().Connected)
	return c
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
	c.w.Wait("an answer", func() bool {
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
