package store

import (
	"context"
	"time"
)

// kept is how long what nobody asks for any more is kept: far longer than the chat side is read back.
const kept = 30 * 24 * time.Hour

// ForgetExpired forgets the lines and files of this team's questions that nobody answered in time, and after 30
// days the questions. Records are never removed.
func (t *Tx) ForgetExpired(ctx context.Context) error {
	if err := t.exec(ctx, "forgetting expired questions", `UPDATE pending SET line = '', file = '' WHERE team_id = $1 AND expires_at < $2 AND line <> ''`, t.team, at(t.now)); err != nil {
		return err
	}
	return t.exec(ctx, "removing old questions", `DELETE FROM pending WHERE team_id = $1 AND expires_at < $2`, t.team, at(t.now.Add(-kept)))
}

// ForgetEvents removes the events of every team that were handled more than 30 days before now.
func (s *Store) ForgetEvents(ctx context.Context, now time.Time) error {
	return s.Do(ctx, now, func(t *Tx) error {
		return t.exec(ctx, "removing old events", `DELETE FROM inbox WHERE claimed_at < $1`, at(now.Add(-kept)))
	})
}
