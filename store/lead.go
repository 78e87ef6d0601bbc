package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"fmt"
	"time"
)

// Lead waits until this process may do what only one of several on a database may, named by a number, and
// gives a context that ends when it no longer may, or cannot tell. stop gives the place up. On SQLite one process holds the
// file, so it may at once. every is how often it asks, and looks whether it still leads.
func (s *Store) Lead(ctx context.Context, what int64, every time.Duration) (leading context.Context, stop func(), err error) {
	if s.dialect.name != postgres {
		leading, stop = context.WithCancel(ctx)
		return leading, stop, nil
	}
	for {
		if conn := s.tryLead(ctx, what); conn != nil {
			leading, stop = hold(ctx, conn, every)
			return leading, stop, nil
		}
		select {
		case <-ctx.Done():
			return nil, nil, fmt.Errorf("waiting to lead: %w", ctx.Err())
		case <-time.After(every):
		}
	}
}

// tryLead takes the lock on a connection of its own, nil when another process has it or the database is
// away. The lock lives as long as that connection.
func (s *Store) tryLead(ctx context.Context, what int64) *sql.Conn {
	conn, err := s.db.Conn(ctx)
	if err != nil {
		return nil
	}
	var got bool
	if err := conn.QueryRowContext(ctx, `SELECT pg_try_advisory_lock($1)`, what).Scan(&got); err != nil || !got {
		_ = conn.Close()
		return nil
	}
	return conn
}

// hold watches the connection that holds the lock. One that gives no answer is given up too: whoever cannot
// tell whether it still leads must not.
func hold(ctx context.Context, conn *sql.Conn, every time.Duration) (context.Context, func()) {
	leading, cancel := context.WithCancel(ctx)
	done := make(chan struct{})
	go func() {
		defer close(done)
		for answers(leading, conn, every) {
		}
		cancel()
		thrown := make(chan struct{})
		go func() { // waits for a statement that hangs
			defer close(thrown)
			// Back in the pool the connection would keep the lock: it is thrown away.
			_ = conn.Raw(func(any) error { return driver.ErrBadConn })
			_ = conn.Close()
		}()
		select {
		case <-thrown:
		case <-time.After(every):
		}
	}()
	return leading, func() {
		cancel()
		<-done
	}
}

// answers waits for a while, then as long for an answer on the connection. false also when ctx ends.
func answers(ctx context.Context, conn *sql.Conn, every time.Duration) bool {
	select {
	case <-ctx.Done():
		return false
	case <-time.After(every):
	}
	said := make(chan error, 1)
	go func() {
		_, err := conn.ExecContext(ctx, `SELECT 1`)
		said <- err
	}()
	select {
	case err := <-said:
		return err == nil
	case <-time.After(max(every, patience)):
		return false
	}
}

// patience is how long a connection that is asked often has for its answer.
const patience = 2 * time.Second
