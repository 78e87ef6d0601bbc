package store

import (
	"context"
	"encoding/json"
	"fmt"

	"footing/rehab"
)

// Occur records that a scheduled thing happened, or was missed, on a team's local day. It is false
// when that day already has it: whoever gets true does it, in the same transaction.
func (t *Tx) Occur(ctx context.Context, what, localDate, outcome string) (bool, error) {
	n, err := t.changed(ctx, "recording the occurrence", `INSERT INTO occurrences (what, team_id, local_date, outcome, at) VALUES ($1, $2, $3, $4, $5) ON CONFLICT DO NOTHING`, what, t.team, localDate, outcome, at(t.now))
	return n == 1, err
}

// LatestOccurrence is the latest local day that has a scheduled thing, "" when none has.
func (t *Tx) LatestOccurrence(ctx context.Context, what string) (string, error) {
	var day string
	err := t.get(ctx, "looking for the latest occurrence", &day, `SELECT coalesce(max(local_date), '') FROM occurrences WHERE what = $1 AND team_id = $2`, what, t.team)
	return day, err
}

// PutTold keeps what coaches were told of each athlete on a local day.
func (t *Tx) PutTold(ctx context.Context, localDate string, told map[int64]rehab.Availability) error {
	for id, a := range told {
		detail, err := json.Marshal(a)
		if err != nil {
			return fmt.Errorf("encoding an availability: %w", err)
		}
		if err := t.exec(ctx, "storing what was told", `INSERT INTO told (team_id, athlete_id, local_date, level, detail) VALUES ($1, $2, $3, $4, $5)
			ON CONFLICT (team_id, athlete_id, local_date) DO UPDATE SET level = $4, detail = $5`, t.team, id, localDate, string(a.Level), string(detail)); err != nil {
			return err
		}
	}
	return nil
}

// Told lists what coaches were told on the latest day before the given one; nil when never.
func (t *Tx) Told(ctx context.Context, before string) (string, map[int64]rehab.Availability, error) {
	var rows []struct {
		Athlete int64  `db:"athlete_id"`
		Date    string `db:"local_date"`
		Detail  string
	}
	err := t.list(ctx, "reading what was told", &rows, `SELECT athlete_id, local_date, detail FROM told WHERE team_id = $1 AND local_date = (
		SELECT max(local_date) FROM told WHERE team_id = $1 AND local_date < $2)`, t.team, before)
	if err != nil || len(rows) == 0 {
		return "", nil, err
	}
	out := map[int64]rehab.Availability{}
	for _, r := range rows {
		var a rehab.Availability
		if err := json.Unmarshal([]byte(r.Detail), &a); err != nil {
			return "", nil, failed("decoding an availability", err)
		}
		out[r.Athlete] = a
	}
	return rows[0].Date, out, nil
}
