package bot

import (
	"context"
	"errors"
	"fmt"
	"time"

	"footing/rehab"
	"footing/store"
)

// What a front needs to read back what was posted while the bot was away.

// Teams lists the teams that are set up and whose server the bot is on.
func (b *Bot) Teams(ctx context.Context) (out []rehab.Team, err error) {
	err = b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) error {
		all, err := tx.Teams(ctx)
		out = nil
		for _, t := range all {
			if t.Ready && t.Gone.IsZero() {
				out = append(out, t)
			}
		}
		return err
	})
	return out, err
}

// Directs lists the direct-message channels of linked accounts.
func (b *Bot) Directs(ctx context.Context) (out []store.Direct, err error) {
	err = b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) (err error) {
		out, err = tx.Directs(ctx)
		return err
	})
	return out, err
}

// Cursor is up to which message a channel was read back, "" when it never was.
func (b *Bot) Cursor(ctx context.Context, channel string) (last string, err error) {
	err = b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) (err error) {
		last, err = tx.Cursor(ctx, channel)
		return err
	})
	return last, err
}

// PutCursor notes up to which message a channel was read back. team is 0 for direct messages.
func (b *Bot) PutCursor(ctx context.Context, channel string, team int64, last string) error {
	err := b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) error { return tx.PutCursor(ctx, channel, team, last) })
	if err != nil {
		return fmt.Errorf("moving a cursor: %w", err)
	}
	return nil
}

// Standing lists the messages of a team's room, sent since a time, whose records stand.
func (b *Bot) Standing(ctx context.Context, team int64, place Place, since time.Time) (keys []string, err error) {
	err = b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) (err error) {
		if err = tx.Enter(ctx, team); err != nil {
			return err
		}
		keys, err = tx.Standing(ctx, string(place), since)
		return err
	})
	return keys, err
}

// Known picks those messages of a team, by their keys, that were ever read.
func (b *Bot) Known(ctx context.Context, team int64, keys []string) (known []string, err error) {
	err = b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) error {
		if err := tx.Enter(ctx, team); err != nil {
			return err
		}
		known = nil
		for _, key := range keys {
			if _, err := tx.Message(ctx, key); err == nil {
				known = append(known, key)
			} else if !errors.Is(err, store.ErrNotFound) {
				return err
			}
		}
		return nil
	})
	return known, err
}
