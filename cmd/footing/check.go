package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"slices"
	"time"

	"footing/bot/discord"
	"footing/rehab"
	"footing/store"
)

// mostSkew is how far the clock may be off: reminders and holds go by it.
const mostSkew = 30 * time.Second

// check looks at all that serve needs and says what to change. It fails when something has to be.
func (c discordCmd) check(ctx context.Context, world around, stdout io.Writer) error {
	var found []discord.Finding
	bad := func(what, cure string) { found = append(found, discord.Finding{What: what, Cure: cure}) }
	token, err := c.token()
	if err != nil {
		bad("token", err.Error())
	}
	st, err := store.Open(ctx, store.Config{URL: c.DB, OwnerURL: c.Owner})
	if err != nil {
		bad("database", "It cannot be opened: "+store.Explain(err)+".")
	} else {
		defer func() { _ = st.Close() }()
		bad("database: "+st.Engine(), "")
	}
	if token == "" || st == nil {
		return say(stdout, found)
	}
	a, err := discord.New(discord.Config{Token: token, Content: c.Content, Transport: world.transport, Log: slog.New(slog.DiscardHandler), Clock: world.clock})
	if err != nil {
		return err
	}
	switch skew, err := a.Skew(ctx); {
	case err != nil:
		bad("network", "Discord cannot be reached from here: look at this machine's network and what guards it.")
		return say(stdout, found)
	case skew.Abs() > mostSkew:
		bad("clock", fmt.Sprintf("It is %s off: set it by a time server.", skew.Abs().Round(time.Second)))
	default:
		bad("clock", "")
	}
	teams, err := ready(ctx, st, world.clock())
	if err != nil {
		bad("database", "The teams cannot be read: "+store.Explain(err)+".")
		return say(stdout, found)
	}
	return say(stdout, append(found, a.Check(ctx, teams)...))
}

// ready lists the teams that are set up and whose server the bot is on. It asks the store, not a bot: one that
// starts takes over what the process that serves is sending.
func ready(ctx context.Context, st *store.Store, now time.Time) (out []rehab.Team, err error) {
	err = st.Do(ctx, now, func(tx *store.Tx) error {
		all, err := tx.Teams(ctx)
		out = slices.DeleteFunc(all, func(t rehab.Team) bool { return !t.Ready || !t.Gone.IsZero() })
		return err
	})
	return out, err
}

// say prints what was found; it is an error when something has to be changed.
func say(w io.Writer, found []discord.Finding) error {
	faults := 0
	for _, f := range found {
		line := "ok    " + f.What
		if f.Cure != "" {
			faults++
			line = "FAULT " + f.What + ": " + f.Cure
		}
		if _, err := fmt.Fprintln(w, line); err != nil {
			return fmt.Errorf("printing: %w", err)
		}
	}
	if faults > 0 {
		return fmt.Errorf("%d of %d checks found something to change", faults, len(found))
	}
	return nil
}
