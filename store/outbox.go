package store

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// LeaseTime is how long a process may hold what it is sending before others may take it over.
const LeaseTime = 60 * time.Second

// Outgoing is a message to be said once.
type Outgoing struct {
	ID          int64
	Team        int64  `db:"team_id"`
	TeamKey     string `db:"team_key"`
	Destination string // the chat side's name for the place: "medical", "staff", "@7"
	Kind        string // reply, report, alert, missed
	Key         string `db:"dedupe_key"` // permanent: a second row with it is not stored
	Body        string
	Attempts    int
	Due         time.Time `db:"-"`
	Expires     time.Time `db:"-"` // zero for never
	LeaseBy     string    // the process that will send it straight after the commit, or ""
}

// Enqueue stores a message in this transaction. A second one with the same key is dropped: id 0.
func (t *Tx) Enqueue(ctx context.Context, o Outgoing) (id int64, err error) {
	var dest int64
	// Not "ON CONFLICT DO UPDATE": that would lock the row, and everyone who writes to one room would
	// wait for each other.
	if err := t.exec(ctx, "storing the destination", `INSERT INTO destinations (team_id, key) VALUES ($1, $2) ON CONFLICT (team_id, key) DO NOTHING`, t.team, o.Destination); err != nil {
		return 0, err
	}
	if err := t.get(ctx, "finding the destination", &dest, `SELECT id FROM destinations WHERE team_id = $1 AND key = $2`, t.team, o.Destination); err != nil {
		return 0, err
	}
	var lease instant
	if o.LeaseBy != "" {
		lease = at(t.now.Add(LeaseTime))
	}
	var ids []int64
	err = t.list(ctx, "storing the message to send", &ids, `INSERT INTO outbox (team_id, destination_id, kind, dedupe_key, due_at, expires_at, lease_by, lease_until)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8) ON CONFLICT (dedupe_key) DO NOTHING RETURNING id`,
		t.team, dest, o.Kind, o.Key, at(o.Due), at(o.Expires), o.LeaseBy, lease)
	if err != nil || len(ids) == 0 {
		return 0, err
	}
	return ids[0], t.exec(ctx, "storing the text to send", `INSERT INTO outbox_bodies (team_id, outbox_id, body) VALUES ($1, $2, $3)`, t.team, ids[0], o.Body)
}

// SentAs gives the chat side's id of a message that was said, and where; an empty id when it is not known
// to have been said, ErrNotFound when there never was one.
func (t *Tx) SentAs(ctx context.Context, key string) (id, destination string, err error) {
	var r struct {
		ID  string `db:"sent_id"`
		Key string
	}
	err = t.get(ctx, "finding what was said", &r, `SELECT o.sent_id, d.key FROM outbox o JOIN destinations d ON d.id = o.destination_id WHERE o.team_id = $1 AND o.dedupe_key = $2`, t.team, key)
	return r.ID, r.Key, err
}

// Batch is one destination claimed for sending, with its due messages in order.
type Batch struct {
	Destination int64
	Fence       int64
	Messages    []Outgoing
}

// ClaimDue claims one destination that has something due, for one process, and gives its messages.
// An empty batch means nothing is due that another process does not hold.
func (s *Store) ClaimDue(ctx context.Context, now time.Time, process string) (Batch, error) {
	var b Batch
	err := s.Do(ctx, now, func(t *Tx) error {
		b = Batch{}
		var rows []struct {
			ID, Fence int64
			Team      int64 `db:"team_id"`
		}
		err := t.list(ctx, "claiming a destination", &rows, `UPDATE destinations SET lease_by = $1, lease_until = $2, fence = fence + 1 WHERE id = (
			SELECT d.id FROM destinations d WHERE (d.lease_until IS NULL OR d.lease_until <= $3) AND EXISTS (
				SELECT 1 FROM outbox o WHERE o.destination_id = d.id AND `+waiting+`) ORDER BY d.id LIMIT 1`+s.dialect.skipLocked+`) RETURNING id, fence, team_id`,
			process, at(now.Add(LeaseTime)), at(now))
		if err != nil || len(rows) == 0 {
			return err
		}
		b.Destination, b.Fence = rows[0].ID, rows[0].Fence
		if err := t.Enter(ctx, rows[0].Team); err != nil {
			return err
		}
		var due []struct {
			Outgoing
			ExpiresAt instant `db:"expires_at"`
		}
		err = t.list(ctx, "reading what is due", &due, `SELECT o.id, o.team_id, tm.key AS team_key, d.key AS destination, o.kind, o.dedupe_key, o.attempts, o.expires_at, ob.body
			FROM outbox o JOIN destinations d ON d.id = o.destination_id JOIN teams tm ON tm.id = o.team_id JOIN outbox_bodies ob ON ob.outbox_id = o.id
			WHERE o.destination_id = $1 AND o.sent_at IS NULL AND o.dead_at IS NULL AND o.due_at <= $2 AND (o.lease_until IS NULL OR o.lease_until <= $2) ORDER BY o.id LIMIT 50`, b.Destination, at(now))
		for _, d := range due {
			d.Outgoing.Expires = d.ExpiresAt.Time
			b.Messages = append(b.Messages, d.Outgoing)
		}
		return err
	})
	return b, err
}

// waiting is an outbox row "o" that may be sent at $3.
const waiting = `o.sent_at IS NULL AND o.dead_at IS NULL AND o.due_at <= $3 AND (o.lease_until IS NULL OR o.lease_until <= $3)`

// Release gives a claimed destination back.
func (s *Store) Release(ctx context.Context, b Batch) error {
	return s.Do(ctx, time.Time{}, func(t *Tx) error {
		return t.exec(ctx, "releasing the destination", `UPDATE destinations SET lease_by = '', lease_until = NULL WHERE id = $1 AND fence = $2`, b.Destination, b.Fence)
	})
}

// Pause gives a claimed destination back but lets nobody claim it before a time.
func (s *Store) Pause(ctx context.Context, b Batch, until time.Time) error {
	return s.Do(ctx, time.Time{}, func(t *Tx) error {
		return t.exec(ctx, "pausing the destination", `UPDATE destinations SET lease_by = '', lease_until = $3 WHERE id = $1 AND fence = $2`, b.Destination, b.Fence, at(until))
	})
}

// Sent marks a message as said and forgets its text. fence is that of the batch it came in, or 0
// for a reply sent by the process that wrote it.
func (s *Store) Sent(ctx context.Context, now time.Time, o Outgoing, fence int64, sentID string) error {
	return s.Do(ctx, now, func(t *Tx) error {
		if err := t.Enter(ctx, o.Team); err != nil {
			return err
		}
		n, err := t.changed(ctx, "marking as sent", `UPDATE outbox SET sent_at = $2, sent_id = $3, lease_by = '', lease_until = NULL, attempts = attempts + 1 WHERE id = $1 AND sent_at IS NULL
			AND ($4 = 0 OR EXISTS (SELECT 1 FROM destinations d WHERE d.id = outbox.destination_id AND d.fence = $4))`, o.ID, at(now), sentID, fence)
		if err != nil {
			return err
		}
		if n == 0 {
			return fmt.Errorf("marking as sent: %w", ErrLeaseLost)
		}
		return t.exec(ctx, "forgetting the text", `DELETE FROM outbox_bodies WHERE team_id = $1 AND outbox_id = $2`, t.team, o.ID)
	})
}

// ErrLeaseLost means another process took over what this one was sending.
var ErrLeaseLost = errors.New("the lease was lost")

// Failed puts a message back for later. errorKind is a short fixed word, never the message's text.
func (s *Store) Failed(ctx context.Context, now time.Time, o Outgoing, errorKind string, next time.Time) error {
	return s.Do(ctx, now, func(t *Tx) error {
		return t.exec(ctx, "putting the message back", `UPDATE outbox SET attempts = attempts + 1, last_error = $2, due_at = $3, lease_by = '', lease_until = NULL WHERE id = $1 AND sent_at IS NULL`, o.ID, errorKind, at(next))
	})
}

// Dead gives a message up for good and forgets its text. why is a short fixed word.
func (s *Store) Dead(ctx context.Context, now time.Time, o Outgoing, why string) error {
	return s.Do(ctx, now, func(t *Tx) error {
		if err := t.Enter(ctx, o.Team); err != nil {
			return err
		}
		if err := t.exec(ctx, "giving the message up", `UPDATE outbox SET dead_at = $2, last_error = $3, lease_by = '', lease_until = NULL WHERE id = $1 AND sent_at IS NULL`, o.ID, at(now), why); err != nil {
			return err
		}
		return t.exec(ctx, "forgetting the text", `DELETE FROM outbox_bodies WHERE team_id = $1 AND outbox_id = $2`, t.team, o.ID)
	})
}

// ReleaseAll frees every lease. Only for a process that holds a SQLite file alone, at start.
func (s *Store) ReleaseAll(ctx context.Context, now time.Time) error {
	if s.dialect.name != sqlite {
		return nil
	}
	return s.Do(ctx, now, func(t *Tx) error {
		if err := t.exec(ctx, "freeing leases", `UPDATE destinations SET lease_by = '', lease_until = NULL WHERE lease_by <> ''`); err != nil {
			return err
		}
		return t.exec(ctx, "freeing leases", `UPDATE outbox SET lease_by = '', lease_until = NULL WHERE lease_by <> ''`)
	})
}
