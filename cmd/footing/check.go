package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"time"

	"footing/bot"
	"footing/bot/discord"
	"footing/store"
)

// mostSkew is how far the clock may be off: reminders and holds go by it.
const mostSkew = 30 * time.Second

// check looks at all that serve needs and says what to change. It fails when something has to be.
func (c discordCmd) check(ctx context.Context, stdout io.Writer) error {
	var found []discord.Finding
	bad := func(what, cure string) { found = append(found, discord.Finding{What: what, Cure: cure}) }
	log := slog.New(slog.NewTextHandler(io.Discard, nil))
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
	a, err := discord.New(discord.Config{Token: token, Content: c.Content, Log: log, Clock: time.Now})
	if err != nil {
		return err
	}
	b, err := bot.New(ctx, bot.Config{Store: st, Front: a, Clock: time.Now, Log: log})
	if err != nil {
		return err
	}
	switch skew, err := a.Skew(ctx); {
	case err != nil:
		bad("network", "Discord cannot be reached from here.")
	case skew.Abs() > mostSkew:
		bad("clock", fmt.Sprintf("It is %s off: set it by a time server.", skew.Abs().Round(time.Second)))
	default:
		bad("clock", "")
	}
	teams, err := b.Teams(ctx)
	if err != nil {
		return err
	}
	return say(stdout, append(found, a.Check(ctx, teams)...))
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
