package store

import (
	"context"
	"errors"
	"time"
)

// LeaseTime is how long a process may hold what it is sending before others may take it over.
const LeaseTime = 60 * time.Second

// batchSize is how many messages of one destination are claimed at once: as many as a slow room takes
// within a lease.
const batchSize = 20

// Lease is a process's hold of one destination. The fence grows each time the destination changes
// hands: whoever comes with an old one has lost it.
type Lease struct {
	Destination int64
	Fence       int64     // 0 for none
	Until       time.Time // from then on others may take over; nothing is sent any more
}

// ErrLeaseLost means another process took over what this one was sending.
var ErrLeaseLost = errors.New("the lease was lost")

// Batch is one destination claimed for sending, with its due messages: alerts first, then in the order
// in which they were written.
type Batch struct {
	Lease
	Urgency  int // of the message it was claimed for, a place in Kinds
	Messages []Outgoing
}

// ClaimDue claims one destination for one process and gives its due messages. It takes that with the
// most urgent due message, and of those the one that waited longest; least is the least urgent place in
// Kinds to look for. An empty batch means nothing is due that nobody holds.
func (s *Store) ClaimDue(ctx context.Context, now time.Time, process string, least int) (Batch, error) {
	var b Batch
	err := s.Do(ctx, now, func(t *Tx) error {
		b = Batch{}
		for u := 0; u <= least && b.Fence == 0; u++ {
			if err := t.claim(ctx, &b, process, u); err != nil {
				return err
			}
		}
		return nil
	})
	return b, err
}

// claimable is the destination of the message of one urgency that waited longest. It reads the index up
// to the first whose destination is free.
const claimable = `SELECT d.id, d.team_id, d.lease_by, d.lease_until FROM outbox o JOIN destinations d ON d.id = o.destination_id
	WHERE ` + waiting + ` AND o.urgency = $1 AND o.due_at <= $2 AND (d.lease_until IS NULL OR d.lease_until <= $2) ORDER BY o.urgency, o.due_at, o.id LIMIT 1`

// claim looks for something due of one urgency. One at a time, so that the index stops at the first row:
// what is not due yet is never read.
func (t *Tx) claim(ctx context.Context, b *Batch, process string, urgency int) error {
	var rows []struct {
		ID         int64
		Team       int64   `db:"team_id"`
		LeaseBy    string  `db:"lease_by"`
		LeaseUntil instant `db:"lease_until"`
	}
	err := t.list(ctx, "looking for a destination", &rows, claimable+t.dialect.skipLockedD, urgency, at(t.now))
	if err != nil || len(rows) == 0 {
		return err
	}
	l := Lease{Destination: rows[0].ID, Until: t.now.Add(LeaseTime)}
	if err := t.get(ctx, "claiming the destination", &l.Fence, `UPDATE destinations SET lease_by = $2, lease_until = $3, fence = fence + 1 WHERE id = $1 RETURNING fence`, l.Destination, process, at(l.Until)); err != nil {
		return err
	}
	if rows[0].LeaseBy != "" {
		if err := t.suspect(ctx, l.Destination, rows[0].LeaseUntil.Add(-LeaseTime)); err != nil {
			return err
		}
	}
	if err := t.Enter(ctx, rows[0].Team); err != nil {
		return err
	}
	b.Lease, b.Urgency = l, urgency
	b.Messages, err = t.due(ctx, l)
	return err
}

// suspect notes that a process which never gave the destination back may have sent any of what waits.
func (t *Tx) suspect(ctx context.Context, dest int64, since time.Time) error {
	return t.exec(ctx, "noting what may have been sent", `UPDATE outbox SET tried_at = $2 WHERE destination_id = $1 AND sent_at IS NULL AND dead_at IS NULL AND due_at <= $3 AND tried_at IS NULL`, dest, at(since), at(t.now))
}

// due lists what may be sent under a lease. Alerts overtake: a message that keeps failing must not hold
// back that somebody is hurt.
func (t *Tx) due(ctx context.Context, l Lease) ([]Outgoing, error) {
	var rows []struct {
		Outgoing
		DueAt     instant `db:"due_at"`
		ExpiresAt instant `db:"expires_at"`
		WrittenAt instant `db:"written_at"`
		TriedAt   instant `db:"tried_at"`
	}
	err := t.list(ctx, "reading what is due", &rows, `SELECT o.id, o.team_id, tm.key AS team_key, d.key AS destination, o.kind, o.dedupe_key, o.attempts, o.due_at, o.expires_at, o.written_at, o.tried_at, ob.body
		FROM outbox o JOIN destinations d ON d.id = o.destination_id JOIN teams tm ON tm.id = o.team_id JOIN outbox_bodies ob ON ob.outbox_id = o.id
		WHERE o.destination_id = $1 AND `+waiting+` AND o.due_at <= $2 ORDER BY CASE o.urgency WHEN 0 THEN 0 ELSE 1 END, o.id LIMIT $3`, l.Destination, at(t.now), batchSize)
	var out []Outgoing
	for _, r := range rows {
		o := r.Outgoing
		o.Due, o.Expires, o.Written, o.Tried, o.Lease = r.DueAt.Time, r.ExpiresAt.Time, r.WrittenAt.Time, r.TriedAt.Time, l
		out = append(out, o)
	}
	return out, err
}

// holds proves that a lease still stands, and keeps anyone from taking it before the transaction ends.
func (t *Tx) holds(ctx context.Context, l Lease) error {
	var id int64
	err := t.get(ctx, "checking the lease", &id, `SELECT id FROM destinations WHERE id = $1 AND fence = $2`+t.dialect.lock, l.Destination, l.Fence)
	if errors.Is(err, ErrNotFound) {
		return ErrLeaseLost
	}
	return err
}

// free ends a lease. until keeps everyone off that long; zero for not at all. The fence moves on, so
// that whoever gave it back cannot come again.
func (t *Tx) free(ctx context.Context, l Lease, until time.Time) error {
	return t.exec(ctx, "freeing the destination", `UPDATE destinations SET lease_by = '', lease_until = $3, fence = fence + 1 WHERE id = $1 AND fence = $2`, l.Destination, l.Fence, at(until))
}

// Release gives a destination back. A lease that was lost changes nothing.
func (s *Store) Release(ctx context.Context, l Lease) error {
	return s.Do(ctx, time.Time{}, func(t *Tx) error { return t.free(ctx, l, time.Time{}) })
}

// Waits reports whether something is due at a destination: whoever gave it back looks for what others wrote to it
// meanwhile. What is written afterwards found the destination free.
func (s *Store) Waits(ctx context.Context, now time.Time, dest int64) (yes bool, err error) {
	err = s.get(ctx, "looking what waits", &yes, `SELECT EXISTS (SELECT 1 FROM outbox o WHERE o.destination_id = $1 AND `+waiting+` AND o.due_at <= $2)`, dest, at(now))
	return yes, err
}

// ReleaseAll frees every lease. Only for a process that holds a SQLite file alone, at start: whoever
// held them is gone.
func (s *Store) ReleaseAll(ctx context.Context, now time.Time) error {
	if s.dialect.name != sqlite {
		return nil
	}
	return s.Do(ctx, now, func(t *Tx) error {
		var held []struct {
			ID         int64
			LeaseUntil instant `db:"lease_until"`
		}
		if err := t.list(ctx, "looking for leases", &held, `SELECT id, lease_until FROM destinations WHERE lease_by <> ''`); err != nil {
			return err
		}
		for _, d := range held {
			if err := t.suspect(ctx, d.ID, d.LeaseUntil.Add(-LeaseTime)); err != nil {
				return err
			}
		}
		return t.exec(ctx, "freeing leases", `UPDATE destinations SET lease_by = '', lease_until = NULL, fence = fence + 1 WHERE lease_by <> ''`)
	})
}
