package store

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"footing/rehab"
)

// Look is a team whose schedule is to be looked at.
type Look struct {
	Team    rehab.Team
	Planned time.Time // what the last look found to come next; later than now when something was recorded since
}

// Looks lists the ids of the teams whose schedule is to be looked at now: set up, and with the bot on their server.
// It reads no more of the others than an index.
func (t *Tx) Looks(ctx context.Context) ([]int64, error) {
	var ids []int64
	err := t.list(ctx, "looking for what is due", &ids, `SELECT l.team_id FROM looks l JOIN teams t ON t.id = l.team_id
		WHERE l.next_at <= $1 AND t.ready_at IS NOT NULL AND t.gone_at IS NULL ORDER BY l.next_at, l.team_id`, at(t.now))
	return ids, err
}

// Look takes the schedule of this transaction's team. due is false when another process has looked
// meanwhile. The squad must be locked: what is recorded of it puts the next look forward.
func (t *Tx) Look(ctx context.Context) (l Look, due bool, err error) {
	var r struct {
		PlannedAt instant `db:"planned_at"`
		NextAt    instant `db:"next_at"`
	}
	if err := t.get(ctx, "taking the schedule", &r, `SELECT planned_at, next_at FROM looks WHERE team_id = $1`+t.dialect.lock, t.team); err != nil {
		return l, false, err
	}
	l.Planned = r.PlannedAt.Time
	l.Team, err = t.TeamByID(ctx, t.team)
	return l, !r.NextAt.After(t.now), err
}

// Looked keeps what the look found to come next, and has the schedule looked at again then.
func (t *Tx) Looked(ctx context.Context, next time.Time) error {
	return t.exec(ctx, "keeping the next look", `UPDATE looks SET planned_at = $2, next_at = $2 WHERE team_id = $1`, t.team, at(next))
}

// NextLook is when the schedule of a team, by the chat side's key, is to be looked at again. ErrNotFound when
// there is no such team.
func (t *Tx) NextLook(ctx context.Context, key string) (time.Time, error) {
	var next instant
	err := t.get(ctx, "finding the next look", &next, `SELECT l.next_at FROM looks l JOIN teams t ON t.id = l.team_id WHERE t.key = $1`, key)
	return next.Time, err
}

// soon has the schedule looked at again: something was recorded that may change it.
func (t *Tx) soon(ctx context.Context) error {
	if t.marked {
		return nil
	}
	t.marked = true
	return t.exec(ctx, "having the schedule looked at", `UPDATE looks SET next_at = $2 WHERE team_id = $1 AND next_at > $2`, t.team, at(t.now))
}

// watch gives a team a schedule, to be looked at now.
func (t *Tx) watch(ctx context.Context, team int64) error {
	return t.exec(ctx, "starting the schedule", `INSERT INTO looks (team_id, planned_at, next_at) VALUES ($1, $2, $2) ON CONFLICT (team_id) DO UPDATE SET next_at = $2`, team, at(t.now))
}

// LockSquad takes the rows of all of a team's athletes and of the squad, in the order in which Lock takes them.
func (t *Tx) LockSquad(ctx context.Context) error {
	var ids []int64
	return t.list(ctx, "locking the squad", &ids, `SELECT athlete_id FROM athlete_state WHERE team_id = $1 ORDER BY athlete_id`+t.dialect.lock, t.team)
}

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

// Occurrences gives the outcome of each scheduled thing of a local day, by what it is.
func (t *Tx) Occurrences(ctx context.Context, localDate string) (map[string]string, error) {
	var rows []struct{ What, Outcome string }
	err := t.list(ctx, "reading occurrences", &rows, `SELECT what, outcome FROM occurrences WHERE team_id = $1 AND local_date = $2`, t.team, localDate)
	out := map[string]string{}
	for _, r := range rows {
		out[r.What] = r.Outcome
	}
	return out, err
}

// PutTold keeps what coaches were told of each athlete on a local day.
func (t *Tx) PutTold(ctx context.Context, localDate string, told map[int64]rehab.Availability) error {
	if len(told) == 0 {
		return nil
	}
	args, rows := []any{t.team, localDate}, []string{}
	for id, a := range told {
		detail, err := json.Marshal(a)
		if err != nil {
			return fmt.Errorf("encoding an availability: %w", err)
		}
		n := len(args)
		rows = append(rows, fmt.Sprintf("($1, $%d, $2, $%d, $%d)", n+1, n+2, n+3))
		args = append(args, id, string(a.Level), string(detail))
	}
	return t.exec(ctx, "storing what was told", `INSERT INTO told (team_id, athlete_id, local_date, level, detail) VALUES `+strings.Join(rows, ", ")+`
		ON CONFLICT (team_id, athlete_id, local_date) DO UPDATE SET level = excluded.level, detail = excluded.detail`, args...)
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
