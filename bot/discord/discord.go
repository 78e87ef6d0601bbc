// Package discord is the bot's Discord side: events come in over the gateway, messages go out over REST.
// It is the only package that knows discordgo, and it decides nothing: what an event means, who may do
// what and what is said is the bot's.
package discord

import (
	"fmt"
	"log/slog"
	"net/http"
	"sync"
	"time"

	"github.com/bwmarrin/discordgo"

	"footing/bot"
)

// Config is what the adapter is made of.
type Config struct {
	Token string
	// Content says that the application may read message text: plain lines in the medical channel then
	// work. Direct messages, mentions and slash commands need no such right.
	Content   bool
	Shards    int               // gateway connections the servers are divided among; 0 is one
	Apart     time.Duration     // between the openings of two of them; 0 for what Discord asks
	Transport http.RoundTripper // nil for the network's own
	Log       *slog.Logger
	Meter     Meter // told what happens; nil for nobody
	Clock     func() time.Time
	Times     Times // zero for those of a server
}

// Adapter is the bot on Discord. It is a bot.Front.
type Adapter struct {
	Config
	bot   *bot.Bot
	queue *bot.Queue
	rest  *discordgo.Session // for requests only; the gateway's sessions come and go
	pace  *pace

	mu     sync.Mutex
	app    string               // the application's id
	self   string               // the bot's own user id
	guilds map[string]*guild    // by id
	dms    map[string]string    // account by direct-message channel
	swept  map[string]reached   // by channel: how far its last sweep read
	held   map[string]*heldBack // by channel that is being read back
	waits  *sync.Cond           // something is held of a room, or its turn to be read back may have come
	vows   map[string]*promise  // by interaction token: first answers on their way
	began  time.Time            // the last opening of a connection
	slow   time.Time            // no channel of direct messages is opened before
	up     chan struct{}        // closed once, when the gateway was first ready

	opening chan time.Time // when a connection may be opened, held by whoever opens one
}

// New makes an adapter. Use attaches the bot, which needs the adapter as its front.
func New(c Config) (*Adapter, error) {
	if c.Transport == nil {
		c.Transport = http.DefaultTransport
	}
	if c.Meter == nil {
		c.Meter = nobody{}
	}
	if c.Times == (Times{}) {
		c.Times = usual
	}
	if c.Times.Promise == 0 {
		c.Times.Promise = usual.Promise
	}
	c.Shards = max(c.Shards, 1)
	a := &Adapter{Config: c, guilds: map[string]*guild{}, dms: map[string]string{}, swept: map[string]reached{}, held: map[string]*heldBack{}, vows: map[string]*promise{}, up: make(chan struct{}), opening: make(chan time.Time, 1)}
	a.waits = sync.NewCond(&a.mu)
	a.opening <- time.Time{}
	if a.Apart == 0 {
		a.Apart = apart
	}
	a.pace = newPace(metered{c.Transport, c.Meter}, time.Now) // its windows are the network's, whatever the bot's clock says
	s, err := a.session()
	if err != nil {
		return nil, err
	}
	a.rest = s
	return a, nil
}

// Use attaches the bot and the queue its events go to.
func (a *Adapter) Use(b *bot.Bot, q *bot.Queue) { a.bot, a.queue = b, q }

// session makes a discordgo session that never retries, reconnects or keeps state by itself: the library
// repeats without limit on 429, may send twice on 502, and may hang on a reconnect before it was ready.
func (a *Adapter) session() (*discordgo.Session, error) {
	s, err := discordgo.New("Bot " + a.Token)
	if err != nil {
		return nil, fmt.Errorf("making a session: %w", err)
	}
	s.SyncEvents, s.StateEnabled = true, false
	s.ShouldRetryOnRateLimit, s.MaxRestRetries, s.ShouldReconnectOnError = false, 0, false
	s.LogLevel = -1 // its logs hold message text
	s.Client = &http.Client{Transport: unpanicked{a.pace, a}, Timeout: requestTime}
	s.UserAgent = "DiscordBot (footing, 1)"
	return s, nil
}

// requestTime is how long a request may take.
const requestTime = 20 * time.Second
