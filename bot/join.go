package bot

import (
	"context"
	"errors"
	"fmt"
	"time"

	"footing/rehab"
	"footing/store"
)

// Join notes that the bot is on a server. A team it never met gets a row that is not ready: nothing but
// set-up is possible there. Settings of one it knows stay.
func (b *Bot) Join(ctx context.Context, key, name string) error {
	err := b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) error {
		_, err := tx.Team(ctx, key)
		if errors.Is(err, store.ErrNotFound) {
			_, err = tx.PutTeam(ctx, rehab.Team{Key: key, Name: name, Zone: "UTC", ReportAt: "07:30", Protocol: b.standard.Hash})
		}
		if err != nil {
			return err
		}
		return tx.SetGone(ctx, key, time.Time{})
	})
	if err != nil {
		return fmt.Errorf("noting a server: %w", err)
	}
	return nil
}

// Leave notes that the bot was removed from a server.
func (b *Bot) Leave(ctx context.Context, key string) error {
	err := b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) error { return tx.SetGone(ctx, key, b.Clock()) })
	if err != nil {
		return fmt.Errorf("noting that a server was left: %w", err)
	}
	return nil
}
