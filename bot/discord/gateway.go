package discord

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"sync"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/gorilla/websocket"
)

const (
	closeTime = 3 * time.Second         // for the library to notice that a connection is closed
	apart     = 5500 * time.Millisecond // between two IDENTIFYs of a bot, and a little (Discord's documentation of max_concurrency)
)

// Times are how patient the adapter is with the gateway.
type Times struct {
	Open    time.Duration // from dialling to READY; the library alone would wait for ever
	Silence time.Duration // of a connection that should carry a heartbeat's answer every 41 s
	First   time.Duration // between tries to connect, doubled up to Most
	Most    time.Duration
	Promise time.Duration // to promise an answer to an interaction, of the 3 s that Discord gives
}

// usual are the times of a server.
var usual = Times{Open: 30 * time.Second, Silence: 90 * time.Second, First: time.Second, Most: 2 * time.Minute, Promise: 2500 * time.Millisecond}

// Fatal is an end that no new try mends; Says tells what to change.
type Fatal struct {
	Says string
	Err  error
}

func (f *Fatal) Error() string { return f.Says }

// Unwrap gives the cause.
func (f *Fatal) Unwrap() error { return f.Err }

// fatal says what to change when the gateway closes for good (Discord's documentation of close codes).
func fatal(err error) error {
	if known := (*Fatal)(nil); errors.As(err, &known) {
		return known
	}
	var closed *websocket.CloseError
	if !errors.As(err, &closed) {
		return nil
	}
	says := map[int]string{
		4004: "Discord refuses the token: reset it on the application's Bot page and set it again.",
		4010: "Discord refuses the number of shards: set the same --shards in every process.",
		4011: "The bot is in too many servers for so few connections: raise --shards, in every process.",
		4012: "Discord no longer speaks this version of its gateway: a newer Footing is needed.",
		4013: "Discord refuses the intents: a newer Footing is needed.",
		4014: "The application may not read message text: turn on Message Content Intent on its Bot page, or start without --content.",
	}[closed.Code]
	if says == "" {
		return nil
	}
	return &Fatal{Says: says, Err: err}
}

// closeCode is why the gateway closed a connection that could not be opened; 0 when it did not say.
func closeCode(err error) int {
	var closed *websocket.CloseError
	if errors.As(err, &closed) {
		return closed.Code
	}
	return 0
}

// Run is RunShard where all servers come by one connection.
func (a *Adapter) Run(ctx context.Context) error { return a.RunShard(ctx, 0) }

// RunShard keeps the gateway connection of one shard, of 0 to Config.Shards-1, until the context ends. It
// returns a *Fatal when something has to be changed first.
func (a *Adapter) RunShard(ctx context.Context, shard int) error {
	defer a.releaseAll(ctx, shard)
	wait, uploaded := a.Times.First, shard != 0
	for ctx.Err() == nil {
		began := a.Clock()
		err := a.try(ctx, shard, &uploaded)
		if stop := fatal(err); stop != nil {
			return stop
		}
		if ctx.Err() != nil {
			break
		}
		if a.Clock().Sub(began) > a.Times.Most {
			wait = a.Times.First
		}
		a.Log.Warn("gateway lost", "again_in", wait.String(), "code", closeCode(err))
		select {
		case <-ctx.Done():
		case <-time.After(wait):
		}
		wait = min(2*wait, a.Times.Most)
	}
	return nil
}

// try learns who this is and uploads the commands, where that was not done, and keeps a connection until it ends.
func (a *Adapter) try(ctx context.Context, shard int, uploaded *bool) error {
	if err := a.Know(ctx); err != nil {
		return err
	}
	if !*uploaded {
		err := a.uploadCommands(ctx)
		if err != nil {
			a.Log.Warn("commands not uploaded; the old ones stay", "error", explain(err))
		}
		*uploaded = err == nil
	}
	return a.connection(ctx, shard)
}

// Up is closed when the gateway was ready for the first time.
func (a *Adapter) Up() <-chan struct{} { return a.up }

// connection is one gateway connection from its opening to its end.
func (a *Adapter) connection(ctx context.Context, shard int) error {
	ctx, end := context.WithCancel(ctx)
	defer end()
	s, err := a.session()
	if err != nil {
		return err
	}
	conns := &connections{quiet: a.Times.Silence}
	defer conns.closeAll() // whatever hangs in the library ends with its connection
	s.Dialer = &websocket.Dialer{HandshakeTimeout: a.Times.Open, NetDialContext: conns.dial, Proxy: http.ProxyFromEnvironment}
	s.Identify.Intents = discordgo.IntentGuilds | discordgo.IntentGuildMessages | discordgo.IntentDirectMessages
	if a.Content {
		s.Identify.Intents |= discordgo.IntentMessageContent
	}
	s.Identify.Shard = &[2]int{shard, max(a.Shards, 1)}
	a.handlers(ctx, s)
	begun := make(chan struct{}, 1)
	defer a.cutOff(ctx, shard)
	s.AddHandler(func(*discordgo.Session, *discordgo.Ready) {
		a.hold(ctx, shard)
		select {
		case begun <- struct{}{}:
		default:
		}
	})
	gone := make(chan struct{})
	var once sync.Once // not AddHandlerOnce: the library's reader and its heartbeat may both tell, and race for its list
	s.AddHandler(func(_ *discordgo.Session, _ *discordgo.Disconnect) {
		end()
		once.Do(func() { close(gone) })
	})
	if !a.mayOpen(ctx) {
		return nil
	}
	a.mu.Lock()
	a.began = a.Clock()
	a.mu.Unlock()
	opened := make(chan error, 1)
	go func() {
		err := errors.New("opening panicked")
		defer func() { opened <- err }()
		defer a.bot.Recover("gateway")
		err = s.Open()
	}()
	select {
	case err := <-opened:
		if err != nil {
			return fmt.Errorf("opening the gateway: %w", err)
		}
	case <-time.After(a.Times.Open):
		return errors.New("opening the gateway: no answer in time")
	case <-ctx.Done():
		return nil
	}
	a.Meter.Connected(1)
	defer a.Meter.Connected(-1)
	select { // the first sweep is made anyway
	case <-begun:
	default:
	}
	swept := make(chan struct{})
	go func() { // what was posted meanwhile
		defer close(swept)
		a.sweeps(ctx, shard, begun)
	}()
	<-ctx.Done() // ended from outside, or by a disconnect
	<-swept
	conns.closeAll()
	select {
	case <-gone: // the library's reader has ended
	case <-time.After(closeTime):
	}
	return nil
}

// mayOpen waits until a connection may be opened: those of several shards not all at once. Another process
// may still open one in the same seconds; Discord then refuses, and it is tried again.
func (a *Adapter) mayOpen(ctx context.Context) bool {
	if a.Shards < 2 {
		return true
	}
	select {
	case <-ctx.Done():
		return false
	case from := <-a.opening:
		select {
		case <-ctx.Done():
		case <-time.After(time.Until(from)):
		}
		a.opening <- time.Now().Add(a.Apart)
	}
	return ctx.Err() == nil
}

// connections dials with a read deadline, so that a silent peer is noticed, and closes what it dialled.
type connections struct {
	quiet time.Duration
	mu    sync.Mutex
	open  []net.Conn
	done  bool
}

func (c *connections) dial(ctx context.Context, network, address string) (net.Conn, error) {
	conn, err := (&net.Dialer{}).DialContext(ctx, network, address)
	if err != nil {
		return nil, fmt.Errorf("dialling: %w", err)
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.done {
		_ = conn.Close()
		return nil, net.ErrClosed
	}
	c.open = append(c.open, conn)
	return impatient{conn, c.quiet}, nil
}

func (c *connections) closeAll() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.done = true
	for _, conn := range c.open {
		_ = conn.Close()
	}
	c.open = nil
}

// impatient is a connection on which nothing may be read for only so long.
type impatient struct {
	net.Conn
	quiet time.Duration
}

func (i impatient) Read(p []byte) (int, error) {
	if err := i.SetReadDeadline(time.Now().Add(i.quiet)); err != nil {
		return 0, fmt.Errorf("setting a deadline: %w", err)
	}
	return i.Conn.Read(p) //nolint:wrapcheck // io.EOF must stay itself
}

// Know learns the bot's own user and application, once: it can send from then on. A refused token is a *Fatal.
func (a *Adapter) Know(ctx context.Context) error {
	if a.appID() != "" {
		return nil
	}
	var me discordgo.User
	if err := a.request(ctx, http.MethodGet, discordgo.EndpointUser("@me"), nil, &me); err != nil {
		return a.refusedToken(err)
	}
	var app discordgo.Application
	if err := a.request(ctx, http.MethodGet, discordgo.EndpointApplication("@me"), nil, &app); err != nil {
		return a.refusedToken(err)
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	a.self, a.app = me.ID, app.ID
	return nil
}

func (a *Adapter) refusedToken(err error) error {
	var s *status
	if errors.As(err, &s) && s.HTTP == http.StatusUnauthorized {
		return fatal(&websocket.CloseError{Code: 4004})
	}
	return fmt.Errorf("asking Discord who this is: %w", err)
}
