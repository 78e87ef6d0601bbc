package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"

	"footing/bot"
	"footing/bot/discord"
	"footing/bot/watch"
	"footing/store"
)

// discordCmd is what both serve and check are told.
type discordCmd struct {
	DB        string `name:"db" required:"" placeholder:"URL" env:"FOOTING_DB" help:"A SQLite file, or a postgres:// address."`
	Owner     string `name:"owner-db" placeholder:"URL" env:"FOOTING_OWNER_DB" help:"PostgreSQL address of the role that owns the schema, when --db is the application's."`
	TokenFile string `placeholder:"FILE" env:"FOOTING_TOKEN_FILE" help:"A file that holds the bot's token. Without it the token is read from FOOTING_TOKEN."`
	Content   bool   `env:"FOOTING_CONTENT" help:"Read plain lines in the medical channel too: the application needs Message Content Intent."`

	watchFlags
}

var errNoToken = errors.New("there is no token: set FOOTING_TOKEN, or --token-file to a file that holds it")

// token reads the bot's token. It is no flag, so that no list of processes shows it, and it is never printed.
func (c discordCmd) token() (string, error) {
	text := os.Getenv("FOOTING_TOKEN")
	if c.TokenFile != "" {
		file, err := os.ReadFile(c.TokenFile)
		if err != nil {
			return "", fmt.Errorf("reading the token: %w", err)
		}
		text = string(file)
	}
	if text = strings.TrimSpace(text); text == "" {
		return "", errNoToken
	}
	return text, nil
}

const (
	workers   = 16               // that send: at a quarter of a second a message they fill what Discord allows
	laneLimit = 50               // waiting events of one author in one channel
	stopTime  = 10 * time.Second // to end what was accepted
	leadEvery = 5 * time.Second
	leadKey   = 0x466f6f74 // names the one process that holds the gateway
)

// serve runs the bot on Discord until the process is told to stop.
func (c discordCmd) serve(ctx context.Context, stderr io.Writer) error {
	log := c.log(stderr)
	token, err := c.token()
	if err != nil {
		return err
	}
	unlock, err := store.Lock(c.DB)
	if err != nil {
		return err
	}
	defer unlock()
	st, err := store.Open(ctx, store.Config{URL: c.DB, OwnerURL: c.Owner})
	if err != nil {
		return err
	}
	defer func() { _ = st.Close() }()
	w := watch.New(st, time.Now)
	stop, err := c.tell(ctx, w, log)
	if err != nil {
		return err
	}
	defer stop()
	a, err := discord.New(discord.Config{Token: token, Content: c.Content, Log: log, Meter: w, Clock: time.Now})
	if err != nil {
		return err
	}
	b, err := bot.New(ctx, bot.Config{Store: st, Front: a, Clock: time.Now, Log: log, Meter: w})
	if err != nil {
		return err
	}
	return work(ctx, st, a, b, w)
}

// work runs the parts of a serving process: the clock and the workers in every process, the gateway in one.
// When ctx ends, what was accepted is still done, for a while.
func work(ctx context.Context, st *store.Store, a *discord.Adapter, b *bot.Bot, w *watch.Watch) error {
	accepted, enough := context.WithCancel(context.WithoutCancel(ctx)) // outlives ctx, so that nothing accepted is dropped
	defer enough()
	q := bot.NewQueue(accepted, b, laneLimit)
	a.Use(b, q)
	if err := a.Know(ctx); err != nil {
		return err
	}
	tick := time.NewTicker(leadEvery)
	defer tick.Stop()
	var parts sync.WaitGroup
	parts.Go(func() { b.Deliver(accepted, workers, tick.C) })
	clock := make(chan error, 1)
	go func() { clock <- b.Run(ctx) }()
	err := gateway(ctx, st, a, w)
	stopped := make(chan struct{})
	go func() {
		q.Wait()
		enough()
		parts.Wait()
		close(stopped)
	}()
	select {
	case <-stopped:
	case <-time.After(stopTime):
		enough()
	}
	return errors.Join(err, <-clock)
}

// gateway holds the connection whenever this process leads, until ctx ends or something has to be changed.
func gateway(ctx context.Context, st *store.Store, a *discord.Adapter, w *watch.Watch) error {
	for {
		leading, stop, err := st.Lead(ctx, leadKey, leadEvery)
		if err != nil {
			return nil //nolint:nilerr // ctx ended while another process led
		}
		w.Lead(1)
		err = a.Run(leading)
		w.Lead(-1)
		stop()
		if err != nil || ctx.Err() != nil {
			return err
		}
	}
}
