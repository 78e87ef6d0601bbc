package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
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
	Shards    int    `default:"1" env:"FOOTING_SHARDS" placeholder:"N" help:"Connections to Discord that the servers are divided among, the same in every process. One does for 2,500 servers."`

	watchFlags
}

var errNoToken = errors.New("there is no token: set FOOTING_TOKEN, or --token-file to a file that holds it")

// token reads the bot's token. It is no flag, so that no list of processes shows it, and it is never printed:
// nor is the name of its file, in case somebody gives the token there.
func (c discordCmd) token() (string, error) {
	text := os.Getenv("FOOTING_TOKEN")
	if c.TokenFile != "" {
		file, err := os.ReadFile(c.TokenFile)
		if err != nil {
			why := "it is no file that can be read"
			if errors.Is(err, fs.ErrNotExist) {
				why = "there is no such file"
			} else if errors.Is(err, fs.ErrPermission) {
				why = "this user may not read it"
			}
			return "", fmt.Errorf("the token's file cannot be used: %s; give --token-file the path of a file that holds the token", why)
		}
		text = string(file)
	}
	text = strings.TrimSpace(text)
	switch {
	case text == "":
		return "", errNoToken
	case strings.ContainsFunc(text, func(r rune) bool { return r <= ' ' || r > '~' }):
		return "", errors.New("that is no token: it is one word without spaces; copy it again from the application's Bot page")
	}
	return text, nil
}

const (
	workers   = 16              // that send: at a quarter of a second a message they fill what Discord allows
	laneLimit = 50              // waiting events of one author in one channel
	stopTime  = 6 * time.Second // to end what was accepted: with the connection's own end under the 10 s after which others kill
	leadEvery = 5 * time.Second
	leadKey   = 0x466f6f74 // names the one process that holds the gateway; a shard's number stands above it

	mostShards = 4 // each that a process leads keeps a connection to the database
)

// serve runs the bot on Discord until the process is told to stop.
func (c discordCmd) serve(ctx context.Context, world around, stderr io.Writer) error {
	log := c.log(stderr)
	token, err := c.token()
	if err != nil {
		return err
	}
	if c.Shards < 1 || c.Shards > mostShards {
		return fmt.Errorf("--shards is a number from 1 to %d", mostShards)
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
	w := watch.New(st, world.clock)
	stop, err := c.tell(ctx, w, log)
	if err != nil {
		return err
	}
	defer stop()
	a, err := discord.New(discord.Config{Token: token, Content: c.Content, Shards: c.Shards, Apart: world.apart, Transport: world.transport, Log: log, Meter: w, Clock: world.clock})
	if err != nil {
		return err
	}
	b, err := bot.New(ctx, bot.Config{Store: st, Front: a, Clock: world.clock, Log: log, Meter: w, Step: world.step})
	if err != nil {
		return err
	}
	return work(ctx, world.every, st, a, b, w)
}

// work runs the parts of a serving process: the clock and the workers in every process, the gateway of each
// shard in one. When ctx ends, or what only a change mends ends the gateways, what was accepted is still done
// and answered, for a while.
func work(ctx context.Context, every time.Duration, st *store.Store, a *discord.Adapter, b *bot.Bot, w *watch.Watch) error {
	ctx, end := context.WithCancel(ctx)
	defer end()
	if err := know(ctx, a); err != nil || ctx.Err() != nil {
		return err
	}
	accepted, enough := context.WithCancel(context.WithoutCancel(ctx)) // outlives ctx, so that nothing accepted is dropped
	defer enough()
	q := bot.NewQueue(accepted, b, laneLimit)
	a.Use(b, q)
	tick := time.NewTicker(every)
	defer tick.Stop()
	written, all := context.WithCancel(accepted) // ends when nothing more will be written that has to be sent
	defer all()
	var parts sync.WaitGroup
	parts.Go(func() { b.Deliver(written, workers, tick.C) })
	clock := make(chan error, 1)
	go func() { clock <- b.Run(ctx) }()
	err := gateways(ctx, every, st, a, w)
	end() // the clock too: without a gateway nothing is served
	stopped := make(chan struct{})
	go func() {
		q.Wait()
		all()
		parts.Wait()
		close(stopped)
	}()
	select {
	case <-stopped:
	case <-time.After(stopTime):
	}
	return errors.Join(err, <-clock)
}

// know asks Discord who the bot is until it answers: a network that is not there yet is no reason to end. A
// refused token is.
func know(ctx context.Context, a *discord.Adapter) error {
	for wait := time.Second; ; wait = min(2*wait, time.Minute) {
		err := a.Know(ctx)
		var stop *discord.Fatal
		if err == nil || errors.As(err, &stop) {
			return err
		}
		a.Log.Warn("Discord does not say who the bot is", "again_in", wait.String())
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(wait):
		}
	}
}

// gateways holds the connection of every shard this process leads, until ctx ends or something has to be
// changed.
func gateways(ctx context.Context, every time.Duration, st *store.Store, a *discord.Adapter, w *watch.Watch) error {
	ctx, end := context.WithCancel(ctx)
	defer end()
	errs := make([]error, a.Shards)
	var shards sync.WaitGroup
	for shard := range a.Shards {
		shards.Go(func() {
			defer end() // what one shard cannot do, none can
			errs[shard] = gateway(ctx, every, st, a, w, shard)
		})
	}
	shards.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

func gateway(ctx context.Context, every time.Duration, st *store.Store, a *discord.Adapter, w *watch.Watch, shard int) error {
	for {
		leading, stop, err := st.Lead(ctx, leadKey+int64(shard)<<32, every)
		if err != nil {
			return nil //nolint:nilerr // ctx ended while another process led
		}
		w.Lead(1)
		err = a.RunShard(leading, shard)
		w.Lead(-1)
		stop()
		if err != nil || ctx.Err() != nil {
			return err
		}
	}
}
