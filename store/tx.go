package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"strconv"
	"time"

	"github.com/jmoiron/sqlx"
)

// Tx is one unit of work: one transaction at one instant, for one team once Enter was called.
type Tx struct {
	tx      *sqlx.Tx
	dialect dialect
	now     time.Time
	team    int64
	leases  map[int64]Lease // destinations taken in this transaction
	locked  map[int64]int64 // athletes' latest seq, of those locked in this transaction
	marked  bool            // the schedule is to be looked at again
	store   *Store
	then    []func()     // once it is committed
	seen    *Transaction // for whoever watches; nil for nobody
}

// ErrCommitUnknown means the commit's answer was lost: the work may or may not be stored. Whoever
// gets it looks for the natural key of what was written, then decides.
var ErrCommitUnknown = errors.New("the commit may or may not have happened")

const (
	retries  = 6
	lostWait = 100 * time.Millisecond // after a lost connection, doubled each time: a server that restarts is back within seconds
)

// Do runs f in one transaction. Nothing f did remains when it returns an error. A serialization
// failure, a deadlock or a connection lost before the commit runs all of f again, so f must have no
// effects outside the transaction.
func (s *Store) Do(ctx context.Context, now time.Time, f func(*Tx) error) error {
	for try := 0; ; try++ {
		err := s.once(ctx, now, f)
		wait := time.Duration(1+rand.IntN(10<<try)) * time.Millisecond
		switch {
		case err == nil || try == retries || errors.Is(err, ErrCommitUnknown):
			return err
		case s.dialect.lost(err):
			wait = lostWait << min(try, 4)
		// A file that another process holds has already been waited for once, when the transaction began.
		case !retryable(err) || errors.Is(err, ErrUnreachable):
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(wait):
		}
	}
}

func (s *Store) once(ctx context.Context, now time.Time, f func(*Tx) error) (err error) {
	began := time.Now()
	tx, err := s.db.BeginTxx(ctx, nil)
	if err != nil {
		return fmt.Errorf("%w: %w", ErrUnreachable, failed("beginning", err))
	}
	done := false
	t := &Tx{tx: tx, dialect: s.dialect, now: now.UTC().Truncate(time.Microsecond), store: s, seen: s.seen(began)}
	defer func() {
		if !done {
			_ = tx.Rollback() // also when f panics
		}
		s.told(t.seen, done && err == nil)
	}()
	if err := f(t); err != nil {
		return err
	}
	done = true
	if err := tx.Commit(); err != nil {
		if retryable(err) {
			return failed("committing", err)
		}
		return fmt.Errorf("%w: %w", ErrCommitUnknown, failed("committing", err))
	}
	for _, f := range t.then {
		f()
	}
	s.prepared.ready(ctx, s.db)
	return nil
}

// Then runs f once, when this transaction is committed: for counting what happened, not for work that may
// not be lost.
func (t *Tx) Then(f func()) { t.then = append(t.then, f) }

// Now is the instant of this unit of work, in UTC.
func (t *Tx) Now() time.Time { return t.now }

// Enter binds the rest of the transaction to one team. On PostgreSQL row security enforces it.
func (t *Tx) Enter(ctx context.Context, team int64) error {
	t.team = team
	if t.dialect.name != postgres {
		return nil
	}
	return t.exec(ctx, "entering the team", `SELECT set_config('footing.team', $1, true)`, strconv.FormatInt(team, 10))
}

func (t *Tx) exec(ctx context.Context, doing, q string, args ...any) error {
	_, err := t.run(ctx, q, args...)
	return failed(doing, err)
}

// run runs a statement that gives no rows.
func (t *Tx) run(ctx context.Context, q string, args ...any) (res sql.Result, err error) {
	began := t.begins()
	if s := t.statement(ctx, q); s != nil {
		res, err = s.ExecContext(ctx, args...)
	} else {
		res, err = t.tx.ExecContext(ctx, q, args...)
	}
	t.ends(began, q, args, res)
	return res, err
}

// statement is a statement kept ready, in this transaction; nil when it is not.
func (t *Tx) statement(ctx context.Context, q string) *sqlx.Stmt {
	t.store.ran.Add(1)
	if s := t.store.prepared.find(q); s != nil {
		return t.tx.StmtxContext(ctx, s)
	}
	return nil
}

// changed runs a statement and gives how many rows it changed.
func (t *Tx) changed(ctx context.Context, doing, q string, args ...any) (int64, error) {
	res, err := t.run(ctx, q, args...)
	if err != nil {
		return 0, failed(doing, err)
	}
	n, err := res.RowsAffected()
	if err != nil {
		return 0, failed(doing, err)
	}
	return n, nil
}

// get reads one row; ErrNotFound when there is none.
func (t *Tx) get(ctx context.Context, doing string, to any, q string, args ...any) (err error) {
	began := t.begins()
	if s := t.statement(ctx, q); s != nil {
		err = s.GetContext(ctx, to, args...)
	} else {
		err = t.tx.GetContext(ctx, to, q, args...)
	}
	t.ends(began, q, args, err == nil)
	return notFound(doing, err)
}

// get reads one row outside any transaction, in one round trip, where nothing else is read or written with it;
// ErrNotFound when there is none.
func (s *Store) get(ctx context.Context, doing string, to any, q string, args ...any) (err error) {
	s.ran.Add(1)
	seen := s.seen(time.Now())
	if ready := s.prepared.find(q); ready != nil {
		err = ready.GetContext(ctx, to, args...)
	} else {
		err = s.db.GetContext(ctx, to, q, args...)
		s.prepared.ready(ctx, s.db)
	}
	s.told(seen, true)
	return notFound(doing, err)
}

// notFound says what failed, and tells a row that is not there from a query that failed.
func notFound(doing string, err error) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, sql.ErrNoRows):
		return fmt.Errorf("%s: %w", doing, ErrNotFound)
	}
	return failed(doing, err)
}

func (t *Tx) list(ctx context.Context, doing string, to any, q string, args ...any) (err error) {
	began := t.begins()
	if s := t.statement(ctx, q); s != nil {
		err = s.SelectContext(ctx, to, args...)
	} else {
		err = t.tx.SelectContext(ctx, to, q, args...)
	}
	t.ends(began, q, args, to)
	return failed(doing, err)
}
