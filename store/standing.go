package store

import (
	"context"
	"time"
)

// Standing lists the keys of messages of a place, sent since a time, whose records stand and which nobody
// is known to have deleted.
func (t *Tx) Standing(ctx context.Context, place string, since time.Time) ([]string, error) {
	var keys []string
	return keys, t.list(ctx, "listing messages with records", &keys, `SELECT m.key FROM messages m WHERE m.team_id = $1 AND m.place = $2 AND m.sent_at >= $3 AND m.deleted_at IS NULL
		AND EXISTS (SELECT 1 FROM entries e WHERE e.team_id = m.team_id AND e.source = m.key AND e.voided_at IS NULL AND e.superseded_at IS NULL) ORDER BY m.key`, t.team, place, at(since))
}

// Direct is an account's direct-message channel.
type Direct struct {
	Account string `db:"key"`
	Channel string `db:"dm_channel"`
}

// Directs lists the direct-message channels of accounts that are linked in some team.
func (t *Tx) Directs(ctx context.Context) ([]Direct, error) {
	var out []Direct
	return out, t.list(ctx, "listing direct channels", &out, `SELECT a.key, a.dm_channel FROM accounts a WHERE a.dm_channel <> '' AND EXISTS (SELECT 1 FROM links l WHERE l.account = a.key) ORDER BY a.key`)
}
