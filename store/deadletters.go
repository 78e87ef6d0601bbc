package store

import (
	"cmp"
	"context"
	"slices"
	"time"
)

// DeadLetter is a message that was given up.
type DeadLetter struct {
	ID          int64
	Destination string
	Kind        string
	Why         string `db:"last_error"`
	Athlete     *int64 `db:"athlete_id"` // who reads at that destination, where the account is linked
}

// TeamsWithDeadLetters lists the teams that have not been told of a message given up by a time.
func (s *Store) TeamsWithDeadLetters(ctx context.Context, by time.Time) (teams []int64, err error) {
	err = s.Do(ctx, by, func(t *Tx) error {
		return t.list(ctx, "looking for dead letters", &teams, `SELECT DISTINCT team_id FROM outbox WHERE dead_at IS NOT NULL AND told_at IS NULL AND dead_at <= $1 ORDER BY team_id`, at(by))
	})
	return teams, err
}

// DeadLetters takes this team's messages that were given up and not told of, oldest first: with this
// transaction they are told.
func (t *Tx) DeadLetters(ctx context.Context) ([]DeadLetter, error) {
	var out []DeadLetter
	err := t.list(ctx, "taking dead letters", &out, `UPDATE outbox SET told_at = $2 WHERE team_id = $1 AND dead_at IS NOT NULL AND told_at IS NULL
		RETURNING id, kind, last_error, (SELECT d.key FROM destinations d WHERE d.id = destination_id) AS destination,
			(SELECT m.athlete_id FROM destinations d JOIN members m ON m.team_id = d.team_id AND m.key = substr(d.key, 2)
				WHERE d.id = destination_id AND substr(d.key, 1, 1) IN ('@', '~')) AS athlete_id`, t.team, at(t.now))
	slices.SortFunc(out, func(a, b DeadLetter) int { return cmp.Compare(a.ID, b.ID) })
	return out, err
}
