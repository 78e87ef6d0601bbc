package bot_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"strings"
	"sync"
	"testing"
	"time"

	"footing/bot"
	"footing/rehab"
	"footing/store"
	"footing/store/storetest"
)

// chat is a model of the chat side: it remembers what was said and shows one key once. It can be away,
// refuse for good, lose the answer to what it took, be slow, and have a pace.
type chat struct {
	mu    sync.Mutex
	said  []bot.Message
	seen  map[string]bool
	tries []bot.Message // every send, also those that failed
	fails int           // this many sends fail first
	loses int           // this many sends after those are taken, but their answer is lost

	// forgetful: a key is only known again to who reads the channel back, which a front does for a Retry.
	forgetful bool
	refuse    func(bot.Message) error            // why it does not take a message
	slow      func(context.Context, bot.Message) // runs before it takes a message
	pace      func(kind string) time.Duration
	heard     chan struct{} // signalled after every message it shows
}

func (c *chat) Ready(kind string) time.Duration {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.pace == nil {
		return 0
	}
	return c.pace(kind)
}

func (c *chat) Send(ctx context.Context, m bot.Message) (string, error) {
	if c.slow != nil {
		c.slow(ctx, m)
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.tries = append(c.tries, m)
	if c.fails > 0 {
		c.fails--
		return "", errors.New("the chat side is away")
	}
	if c.refuse != nil {
		if err := c.refuse(m); err != nil {
			return "", err
		}
	}
	c.show(m)
	if c.loses > 0 {
		c.loses--
		return "", errors.New("the answer was lost")
	}
	return m.Key, nil
}

// show shows a message, once where the key is still known.
func (c *chat) show(m bot.Message) {
	if c.seen == nil {
		c.seen = map[string]bool{}
	}
	if c.seen[m.Key] && (!c.forgetful || m.Retry) {
		return
	}
	c.seen[m.Key] = true
	c.said = append(c.said, m)
	select {
	case c.heard <- struct{}{}:
	default:
	}
}

// shown lists the keys of what was said at a place, in order; "" for everywhere.
func (c *chat) shown(p bot.Place) []string {
	c.mu.Lock()
	defer c.mu.Unlock()
	var out []string
	for _, m := range c.said {
		if p == "" || m.Place == p {
			out = append(out, m.Key)
		}
	}
	return out
}

// sends counts the sends of a key.
func (c *chat) sends(key string) (n int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, m := range c.tries {
		if m.Key == key {
			n++
		}
	}
	return n
}

// await waits until something holds of what was said. Nothing polls: it looks after every message.
func (c *chat) await(t *testing.T, what string, holds func() bool) {
	t.Helper()
	late := time.After(30 * time.Second)
	for !holds() {
		select {
		case <-c.heard:
		case <-late:
			t.Fatalf("%s: did not happen; said so far: %q", what, c.texts())
		}
	}
}

// texts lists what was said, "place: text".
func (c *chat) texts() []string {
	c.mu.Lock()
	defer c.mu.Unlock()
	var out []string
	for _, m := range c.said {
		out = append(out, string(m.Place)+": "+m.Text)
	}
	return out
}

// token is that of the latest button with a label.
func (c *chat) token(label string) string {
	c.mu.Lock()
	defer c.mu.Unlock()
	found := ""
	for _, m := range c.said {
		for _, b := range m.Buttons {
			if b.Label == label {
				found = b.Token
			}
		}
	}
	return found
}

// rig is a bot on a database with a clock in hand and two athletes on the roster of one team.
type rig struct {
	*bot.Bot
	chat  *chat
	store *store.Store
	now   time.Time
	n     int
}

const club = "kestrels"

var medical = []rehab.Role{rehab.Medical}

func newRig(t *testing.T, c store.Config) *rig {
	t.Helper()
	r := &rig{chat: &chat{}, store: storetest.Open(t, c), now: time.Date(2026, 3, 2, 5, 0, 0, 0, time.UTC)}
	r.start(t)
	if _, err := r.PutTeam(t.Context(), rehab.Team{Key: club, Name: "Harbour Kestrels", Zone: "Pacific/Auckland", ReportAt: "07:30"}); err != nil {
		t.Fatal(err)
	}
	r.say(t, "add 7 Mere Tau, wing\nadd 12 Joss Okafor, lock")
	return r
}

// start makes a new bot on the same database, as a restarted process would.
func (r *rig) start(t *testing.T) {
	t.Helper()
	b, err := bot.New(t.Context(), bot.Config{Store: r.store, Front: r.chat, Clock: func() time.Time { return r.now }, Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
	if err != nil {
		t.Fatal(err)
	}
	r.Bot = b
}

// message is a fresh message of the physio.
func (r *rig) message(text string) bot.Inbound {
	r.n++
	r.now = r.now.Add(time.Second)
	return bot.Inbound{Kind: bot.Created, Team: club, Message: fmt.Sprintf("m%d", r.n), Author: "sam", Roles: medical, Place: bot.MedicalRoom, Text: text, Sent: r.now}
}

// messages are fresh messages, made before any is handled: making one moves the clock.
func (r *rig) messages(texts ...string) []bot.Inbound {
	var out []bot.Inbound
	for _, text := range texts {
		out = append(out, r.message(text))
	}
	return out
}

// say sends a message and gives what came back.
func (r *rig) say(t *testing.T, text string) string {
	t.Helper()
	return r.send(t, r.message(text))
}

func (r *rig) send(t *testing.T, in bot.Inbound) string {
	t.Helper()
	before := len(r.chat.texts())
	if err := r.Handle(t.Context(), in); err != nil {
		t.Fatal(err)
	}
	return strings.Join(r.chat.texts()[before:], "\n")
}

// press presses the latest button with a label.
func (r *rig) press(t *testing.T, label, author string, roles []rehab.Role) string {
	t.Helper()
	in := r.message("")
	in.Kind, in.Token, in.Author, in.Roles = bot.Pressed, r.chat.token(label), author, roles
	return r.send(t, in)
}

// live counts the entries that stand.
func (r *rig) live(t *testing.T) int {
	t.Helper()
	var n int
	err := r.store.Do(t.Context(), r.now, func(tx *store.Tx) error {
		team, err := tx.Team(t.Context(), club)
		if err != nil {
			return err
		}
		if err := tx.Enter(t.Context(), team.ID); err != nil {
			return err
		}
		all, err := tx.TeamEntries(t.Context())
		for _, list := range all {
			n += len(list)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func wants(t *testing.T, got, want string) {
	t.Helper()
	if !strings.Contains(got, want) {
		t.Errorf("%q is not in:\n%s", want, got)
	}
}

// last is the key of the message last said.
func (r *rig) last() string { return fmt.Sprintf("m%d", r.n) }
