package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"time"

	"footing/bot"
	"footing/store"
)

// byHandCmd writes what a day of a team has, without waiting for its time.
type byHandCmd struct {
	DB     string `name:"db" required:"" placeholder:"URL" env:"FOOTING_DB" help:"A SQLite file, or a postgres:// address, that a serving process uses."`
	Owner  string `name:"owner-db" placeholder:"URL" env:"FOOTING_OWNER_DB" help:"PostgreSQL address of the role that owns the schema, when --db is the application's."`
	Team   string `required:"" placeholder:"TEAM" help:"The team's name, or the chat server's id."`
	Date   string `placeholder:"DATE" help:"Local day, 2026-03-03. Default: today. What was sent or missed that day stays so, and nothing is written later than its time allows."`
	DryRun bool   `help:"Only say what would be written, to whom and when it is due."`
}

func (c byHandCmd) write(ctx context.Context, world around, stdout io.Writer, log *slog.Logger, report bool) error {
	ask := bot.ByHand{Team: c.Team, Report: report, DryRun: c.DryRun}
	if c.Date != "" {
		date, err := time.Parse(time.DateOnly, c.Date)
		if err != nil {
			return fmt.Errorf("the date %q cannot be read: write it like 2026-03-03", c.Date)
		}
		ask.Date = date
	}
	st, err := store.Open(ctx, store.Config{URL: c.DB, OwnerURL: c.Owner, AsIs: true})
	if err != nil {
		return err
	}
	defer func() { _ = st.Close() }()
	b, err := bot.New(ctx, bot.Config{Store: st, Clock: world.clock, Log: log, Beside: true})
	if err != nil {
		return err
	}
	list, err := b.WriteByHand(ctx, ask)
	if err != nil {
		return err
	}
	says := map[string]string{"sent": "written", "none": "nothing to say"}
	if c.DryRun {
		says["sent"] = "would be written"
	}
	for _, w := range list {
		outcome := w.Outcome
		if s := says[outcome]; s != "" {
			outcome = s
		}
		if _, err := fmt.Fprintf(stdout, "%s to %s, due %s: %s\n", w.What, w.To, w.Due.Format("Mon 2 Jan 15:04"), outcome); err != nil {
			return fmt.Errorf("printing: %w", err)
		}
	}
	if len(list) == 0 {
		if _, err := fmt.Fprintln(stdout, "That day has nothing of the kind."); err != nil {
			return fmt.Errorf("printing: %w", err)
		}
	}
	return nil
}
