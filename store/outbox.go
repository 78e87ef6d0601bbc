package store

import (
	"context"
	"errors"
	"slices"
	"time"
)

// Kinds are the kinds of messages, the most urgent first. What is of no kind listed here is as urgent
// as a notice.
var Kinds = []string{"alert", "reply", "notice", "report", "reminder"}

// urgency is a kind's place in Kinds.
func urgency(kind string) int {
	if i := slices.Index(Kinds, kind); i >= 0 {
		return i
	}
	return slices.Index(Kinds, "notice")
}

// Outgoing is a message to be said once.
type Outgoing struct {
	ID          int64
	Team        int64  `db:"team_id"`
	TeamKey     string `db:"team_key"`
	Destination string // the chat side's name for the place: "medical", "staff", "@7"
	Kind        string // one of Kinds, or a kind of notice
	Key         string `db:"dedupe_key"` // permanent: a second row with it is not stored
	Body        string
	Attempts    int       // how often it was tried before
	Due         time.Time `db:"-"`
	Expires     time.Time `db:"-"` // zero for never
	Written     time.Time `db:"-"` // when it was first due
	Tried       time.Time `db:"-"` // when it may first have reached the chat side; zero when it never was tried
	LeaseBy     string    `db:"-"` // the process that would send it straight after the commit, or ""
	Lease       Lease     `db:"-"` // under which it is sent; zero when nobody may send it yet
}

// Enqueue stores a message in this transaction. A second one with the same key is dropped: id 0. What
// the process LeaseBy may send straight after the commit comes back with its lease: nothing before it
// waits for the same destination, and nobody else holds that.
func (t *Tx) Enqueue(ctx context.Context, o Outgoing) (Outgoing, error) {
	var dest int64
	const find = `SELECT id FROM destinations WHERE team_id = $1 AND key = $2`
	err := t.get(ctx, "finding the destination", &dest, find, t.team, o.Destination)
	if errors.Is(err, ErrNotFound) { // the first message to it
		// Not "ON CONFLICT DO UPDATE": that would lock the row, and everyone who writes to one room would
		// wait for each other.
		if err := t.exec(ctx, "storing the destination", `INSERT INTO destinations (team_id, key) VALUES ($1, $2) ON CONFLICT (team_id, key) DO NOTHING`, t.team, o.Destination); err != nil {
			return o, err
		}
		err = t.get(ctx, "finding the destination", &dest, find, t.team, o.Destination)
	}
	if err != nil {
		return o, err
	}
	var ids []int64
	err = t.list(ctx, "storing the message to send", &ids, `INSERT INTO outbox (team_id, destination_id, kind, urgency, dedupe_key, due_at, written_at, expires_at)
		VALUES ($1, $2, $3, $4, $5, $6, $6, $7) ON CONFLICT (dedupe_key) DO NOTHING RETURNING id`,
		t.team, dest, o.Kind, urgency(o.Kind), o.Key, at(o.Due), at(o.Expires))
	if err != nil || len(ids) == 0 {
		o.ID = 0
		return o, err
	}
	o.ID, o.Written = ids[0], o.Due
	if err := t.exec(ctx, "storing the text to send", `INSERT INTO outbox_bodies (team_id, outbox_id, body) VALUES ($1, $2, $3)`, t.team, o.ID, o.Body); err != nil {
		return o, err
	}
	if urgency(o.Kind) == 0 { // that somebody is hurt does not wait until what failed there is tried again
		if err := t.exec(ctx, "opening the place for an alert", `UPDATE destinations SET lease_until = NULL WHERE id = $1 AND lease_by = '' AND lease_until IS NOT NULL`, dest); err != nil {
			return o, err
		}
	}
	if o.LeaseBy != "" {
		o.Lease, err = t.leaseFor(ctx, dest, o)
	}
	return o, err
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

// leaseFor takes the destination of a message just written, if it is free and nothing waits there. It
// passes over one whose row another transaction holds, and one that a dead process left.
func (t *Tx) leaseFor(ctx context.Context, dest int64, o Outgoing) (Lease, error) {
	if l, ours := t.leases[dest]; ours {
		return l, nil
	}
	l := Lease{Destination: dest, Until: t.now.Add(LeaseTime)}
	var fences []int64
	err := t.list(ctx, "taking the destination", &fences, `UPDATE destinations SET lease_by = $2, lease_until = $3, fence = fence + 1 WHERE id = (
		SELECT d.id FROM destinations d WHERE d.id = $1 AND d.lease_by = '' AND (d.lease_until IS NULL OR d.lease_until <= $4)
			AND NOT EXISTS (SELECT 1 FROM outbox o WHERE o.destination_id = d.id AND `+waiting+` AND o.due_at <= $4 AND o.id < $5)`+t.dialect.skipLocked+`) RETURNING fence`,
		dest, o.LeaseBy, at(l.Until), at(t.now), o.ID)
	if err != nil || len(fences) == 0 {
		return Lease{}, err
	}
	l.Fence = fences[0]
	if t.leases == nil {
		t.leases = map[int64]Lease{}
	}
	t.leases[dest] = l
	return l, nil
}

// waiting is an outbox row "o" that is still to be sent.
const waiting = `o.sent_at IS NULL AND o.dead_at IS NULL`

// Sent marks a message as said and forgets its text; after the last of its batch the destination is
// free again. ErrLeaseLost when another process took over.
func (s *Store) Sent(ctx context.Context, now time.Time, o Outgoing, sentID string, last bool) error {
	return s.finish(ctx, now, o, last, `UPDATE outbox SET sent_at = $2, sent_id = $3, attempts = attempts + 1 WHERE id = $1 AND sent_at IS NULL AND dead_at IS NULL`, sentID)
}

// Dead gives a message up for good and forgets its text. why is a short fixed word. tell keeps it for
// DeadLetters.
func (s *Store) Dead(ctx context.Context, now time.Time, o Outgoing, why string, tell, last bool) error {
	told := ", told_at = $2"
	if tell {
		told = ""
	}
	return s.finish(ctx, now, o, last, `UPDATE outbox SET dead_at = $2, last_error = $3`+told+` WHERE id = $1 AND sent_at IS NULL AND dead_at IS NULL`, why)
}

func (s *Store) finish(ctx context.Context, now time.Time, o Outgoing, last bool, mark, word string) error {
	return s.Do(ctx, now, func(t *Tx) error {
		if err := t.Enter(ctx, o.Team); err != nil {
			return err
		}
		if err := t.holds(ctx, o.Lease); err != nil {
			return err
		}
		n, err := t.changed(ctx, "marking a message", mark, o.ID, at(now), word)
		if err != nil {
			return err
		}
		if n == 0 {
			return ErrLeaseLost // whoever held it meanwhile finished it
		}
		if err := t.exec(ctx, "forgetting the text", `DELETE FROM outbox_bodies WHERE team_id = $1 AND outbox_id = $2`, t.team, o.ID); err != nil || !last {
			return err
		}
		return t.free(ctx, o.Lease, time.Time{})
	})
}

// Failed puts a message back until next and lets nobody claim its destination before, so that nothing
// overtakes it there. errorKind is a short fixed word, never the message's text.
func (s *Store) Failed(ctx context.Context, now time.Time, o Outgoing, errorKind string, next time.Time) error {
	return s.Do(ctx, now, func(t *Tx) error {
		if err := t.holds(ctx, o.Lease); err != nil {
			return err
		}
		n, err := t.changed(ctx, "putting the message back", `UPDATE outbox SET attempts = attempts + 1, last_error = $2, tried_at = COALESCE(tried_at, $3)
			WHERE id = $1 AND sent_at IS NULL AND dead_at IS NULL`, o.ID, errorKind, at(now))
		if err != nil {
			return err
		}
		if n == 0 {
			return ErrLeaseLost
		}
		// Those behind it are put back as well: claims then never look at what waits for a closed place.
		if err := t.exec(ctx, "putting back what is behind it", `UPDATE outbox SET due_at = $2 WHERE destination_id = $1 AND sent_at IS NULL AND dead_at IS NULL AND due_at < $2`,
			o.Lease.Destination, at(next)); err != nil {
			return err
		}
		return t.free(ctx, o.Lease, next)
	})
}

// KnownAsSent reports whether some message is known to have been said under the chat side's id.
func (s *Store) KnownAsSent(ctx context.Context, id string) (bool, error) {
	var n int
	err := s.Do(ctx, time.Time{}, func(t *Tx) error {
		return t.get(ctx, "looking for what was said", &n, `SELECT count(*) FROM outbox WHERE sent_id = $1`, id)
	})
	return n > 0, err
}
