package store

import (
	"context"
	"errors"
	"time"

	"footing/rehab"
)

// Link ties a member to the athlete they are, and notes in which team their account is linked.
func (t *Tx) Link(ctx context.Context, member, athlete int64) error {
	if err := t.exec(ctx, "linking the athlete", `UPDATE members SET athlete_id = $3 WHERE team_id = $1 AND id = $2`, t.team, member, athlete); err != nil {
		return err
	}
	return t.exec(ctx, "noting the link", `INSERT INTO links (account, team_id) SELECT key, team_id FROM members WHERE team_id = $1 AND id = $2 ON CONFLICT (account, team_id) DO NOTHING`, t.team, member)
}

// Unlink parts a member from the athlete they were.
func (t *Tx) Unlink(ctx context.Context, member int64) error {
	if err := t.exec(ctx, "forgetting the link", `DELETE FROM links WHERE team_id = $1 AND account = (SELECT key FROM members WHERE team_id = $1 AND id = $2)`, t.team, member); err != nil {
		return err
	}
	return t.exec(ctx, "parting the athlete", `UPDATE members SET athlete_id = NULL WHERE team_id = $1 AND id = $2`, t.team, member)
}

// Part takes every account from an athlete.
func (t *Tx) Part(ctx context.Context, athlete int64) error {
	if err := t.exec(ctx, "forgetting the links", `DELETE FROM links WHERE team_id = $1 AND account IN (SELECT key FROM members WHERE team_id = $1 AND athlete_id = $2)`, t.team, athlete); err != nil {
		return err
	}
	return t.exec(ctx, "parting the accounts", `UPDATE members SET athlete_id = NULL WHERE team_id = $1 AND athlete_id = $2`, t.team, athlete)
}

// Account finds a member by the chat side's key; the zero Member when nobody with it has written here.
func (t *Tx) Account(ctx context.Context, key string) (rehab.Member, error) {
	list, err := t.accounts(ctx, `m.key = $2`, key)
	if err != nil || len(list) == 0 {
		return rehab.Member{}, err
	}
	return list[0], nil
}

// Accounts lists the accounts linked with an athlete, by athlete. The one linked last counts.
func (t *Tx) Accounts(ctx context.Context) (map[int64]rehab.Member, error) {
	list, err := t.accounts(ctx, `m.athlete_id IS NOT NULL`)
	out := map[int64]rehab.Member{}
	for _, m := range list {
		out[m.Athlete] = m
	}
	return out, err
}

func (t *Tx) accounts(ctx context.Context, where string, args ...any) ([]rehab.Member, error) {
	var rows []struct {
		ID      int64
		Key     string
		Name    string
		Athlete *int64  `db:"athlete_id"`
		Closed  instant `db:"closed_at"`
	}
	err := t.list(ctx, "reading accounts", &rows, `SELECT m.id, m.key, m.name, m.athlete_id, a.closed_at FROM members m LEFT JOIN accounts a ON a.key = m.key
		WHERE m.team_id = $1 AND `+where+` ORDER BY m.id`, append([]any{t.team}, args...)...)
	out := make([]rehab.Member, len(rows))
	for i, r := range rows {
		out[i] = rehab.Member{ID: r.ID, Key: r.Key, Name: r.Name, Closed: !r.Closed.IsZero()}
		if r.Athlete != nil {
			out[i].Athlete = *r.Athlete
		}
	}
	return out, err
}

// LinkedTeams lists the ids of the teams in which an account is linked, in order.
func (t *Tx) LinkedTeams(ctx context.Context, account string) ([]int64, error) {
	var ids []int64
	return ids, t.list(ctx, "finding the account's teams", &ids, `SELECT team_id FROM links WHERE account = $1 ORDER BY team_id`, account)
}

// Linked finds the account of an athlete; ErrNotFound when none is linked. The one linked last counts.
func (t *Tx) Linked(ctx context.Context, athlete int64) (account string, err error) {
	return account, t.get(ctx, "finding the athlete's account", &account, `SELECT key FROM members WHERE team_id = $1 AND athlete_id = $2 ORDER BY id DESC LIMIT 1`, t.team, athlete)
}

// DirectChannel is the direct-message channel kept for an account, "" when none is, and since when the
// account refuses direct messages, zero when it does not.
func (s *Store) DirectChannel(ctx context.Context, account string) (channel string, closed time.Time, err error) {
	var row struct {
		Channel string  `db:"dm_channel"`
		Closed  instant `db:"closed_at"`
	}
	err = s.get(ctx, "finding the direct channel", &row, `SELECT dm_channel, closed_at FROM accounts WHERE key = $1`, account)
	if errors.Is(err, ErrNotFound) {
		return "", time.Time{}, nil
	}
	return row.Channel, row.Closed.Time, err
}

// KeepDirect keeps an account's direct-message channel, and whether it refuses direct messages now.
func (t *Tx) KeepDirect(ctx context.Context, account, channel string, closed bool) error {
	var since instant
	if closed {
		since = at(t.now)
	}
	return t.exec(ctx, "keeping the direct channel", `INSERT INTO accounts (key, dm_channel, closed_at) VALUES ($1, $2, $3)
		ON CONFLICT (key) DO UPDATE SET dm_channel = CASE WHEN $2 = '' THEN accounts.dm_channel ELSE $2 END, closed_at = $3`, account, channel, since)
}
