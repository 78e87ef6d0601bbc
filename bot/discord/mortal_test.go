package discord_test

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"footing/bot"
	"footing/bot/discord"
	"footing/bot/discord/discordtest"
	"footing/store"
)

var errDead = errors.New("the process is dead")

// process is a bot and its adapter with a way of their own to the database. It can die as a killed one does:
// from then on it takes no step, asks Discord nothing, and the database hears no more of it.
type process struct {
	store *store.Store
	bot   *bot.Bot
	queue *bot.Queue
	dead  atomic.Bool
	end   context.CancelFunc
	gone  sync.WaitGroup // what still unwinds
	err   error          // of the adapter's end
}

// serve starts a process and returns once its gateway is ready. step is told each of bot.Steps.
func serve(w *discordtest.World, db store.Config, times discord.Times, lane int, step func(p *process, name string)) (*process, error) {
	p := &process{}
	var err error
	if p.store, err = store.Open(context.Background(), db); err != nil {
		return nil, fmt.Errorf("opening the database: %w", err)
	}
	a, err := discord.New(discord.Config{Token: strings.TrimPrefix(w.Token(), "Bot "), Content: true, Transport: mortal{w.Transport(), p}, Log: quiet, Clock: w.Now, Times: times})
	if err != nil {
		return nil, fmt.Errorf("making an adapter: %w", err)
	}
	p.bot, err = bot.New(context.Background(), bot.Config{Store: p.store, Front: a, Clock: w.Now, Log: quiet, Step: func(name string) {
		if p.dead.Load() {
			panic(errDead)
		}
		if step != nil {
			step(p, name)
		}
		if name == "committed" {
			w.Notify()
		}
	}})
	if err != nil {
		return nil, fmt.Errorf("making a bot: %w", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	p.end = cancel
	p.queue = bot.NewQueue(ctx, p.bot, lane)
	a.Use(p.bot, p.queue)
	p.gone.Go(func() { p.err = a.Run(ctx) })
	select {
	case <-a.Up():
	case <-time.After(discordtest.Patience):
		p.die()
		return nil, errors.New("the gateway was never ready")
	}
	return p, nil
}

// die ends the process where it stands. Whoever is in the middle of a step panics.
func (p *process) die() {
	if p.dead.Swap(true) {
		return
	}
	p.end()
	p.gone.Go(func() { _ = p.store.Close() })
}

// stop ends the process as it should end.
func (p *process) stop() error {
	if !p.dead.Load() {
		p.queue.Wait()
		p.end()
	}
	p.gone.Wait()
	if p.dead.Swap(true) {
		return p.err
	}
	return errors.Join(p.err, p.store.Close())
}

// mortal sends a living process's requests. What was on its way when it died has reached Discord.
type mortal struct {
	http.RoundTripper
	p *process
}

func (m mortal) RoundTrip(r *http.Request) (*http.Response, error) {
	if m.p.dead.Load() {
		return nil, errDead
	}
	return m.RoundTripper.RoundTrip(r)
}
