package bot

import (
	"context"
	"errors"
	"fmt"
	"time"

	"footing/rehab"
	"footing/rehab/protocol"
	"footing/store"
)

// Until its settings are chosen a team has these.
const (
	firstZone   = "UTC"
	firstReport = "07:30"
)

// Join makes the row of a server the bot has come to; until it is set up there, all it answers is how.
// One it knows keeps its settings, and is there again if the bot had been removed.
func (b *Bot) Join(ctx context.Context, key, name string) (rehab.Team, error) {
	t := rehab.Team{Key: key, Name: name, Zone: firstZone, ReportAt: firstReport, Protocol: b.standard.Hash}
	err := b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) (err error) {
		t, err = tx.Join(ctx, t)
		return err
	})
	return t, err
}

// Leave notes that the bot was removed from a server: nothing more falls due there. The record stays.
func (b *Bot) Leave(ctx context.Context, key string) error {
	return b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) error { return tx.SetGone(ctx, key, tx.Now()) })
}

// Team reads a team's settings. store.ErrNotFound when the bot never was there.
func (b *Bot) Team(ctx context.Context, key string) (rehab.Team, error) {
	return b.Store.Team(ctx, key)
}

// NoTeam reports whether an error says that the bot never was there.
func NoTeam(err error) bool { return errors.Is(err, store.ErrNotFound) }

// Listens reports whether plain lines of a channel are for the bot: those of a team's medical room.
func (b *Bot) Listens(ctx context.Context, team, channel string) (bool, error) {
	t, err := b.Team(ctx, team)
	if errors.Is(err, store.ErrNotFound) {
		return false, nil
	}
	return t.Ready && t.Rooms.Medical == channel, err
}

// PutTeam makes a team or changes its settings.
func (b *Bot) PutTeam(ctx context.Context, t rehab.Team) (rehab.Team, error) {
	if _, err := time.LoadLocation(t.Zone); err != nil || t.Zone == "" || t.Zone == "Local" {
		return t, fmt.Errorf("the zone %q is unknown; use a name like Pacific/Auckland", t.Zone)
	}
	if _, err := time.Parse("15:04", t.ReportAt); err != nil {
		return t, fmt.Errorf("the report time %q is no time; use 24 hours, like 07:30", t.ReportAt)
	}
	t.Protocol, t.Ready = b.standard.Hash, true
	err := b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) error {
		var err error
		t, err = tx.PutTeam(ctx, t)
		return err
	})
	return t, err
}

// ChooseProtocol gives a team its own protocol file: new episodes follow it, open ones when a clinician
// accepts it. The error names every fault of the file, and nothing changes then.
func (b *Bot) ChooseProtocol(ctx context.Context, team, file string, text []byte) error {
	p, err := protocol.Load(file, text)
	if err != nil {
		return fmt.Errorf("reading the protocol: %w", err)
	}
	return b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) error {
		t, err := tx.Team(ctx, team)
		if err != nil {
			return err
		}
		if err := tx.Enter(ctx, t.ID); err != nil {
			return err
		}
		if err := tx.PutProtocol(ctx, p.Hash, p.Name, string(text), false); err != nil {
			return err
		}
		return tx.ChooseProtocol(ctx, p.Hash)
	})
}
