package store

import (
	"context"
	"errors"
)

// Cursor is the last message of a channel that was read back; "" when none was.
func (t *Tx) Cursor(ctx context.Context, channel string) (last string, err error) {
	err = t.get(ctx, "reading a cursor", &last, `SELECT last FROM cursors WHERE channel = $1`, channel)
	if errors.Is(err, ErrNotFound) {
		return "", nil
	}
	return last, err
}

// PutCursor notes up to which message a channel was read back. team is 0 for direct messages.
func (t *Tx) PutCursor(ctx context.Context, channel string, team int64, last string) error {
	return t.exec(ctx, "moving a cursor", `INSERT INTO cursors (channel, team_id, last) VALUES ($1, $2, $3) ON CONFLICT (channel) DO UPDATE SET last = $3`, channel, orNull(team), last)
}
