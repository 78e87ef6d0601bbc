// Package store keeps the records. It is the only package that knows SQL; the same queries run on
// SQLite and PostgreSQL, and what differs between them stands in dialect.go.
package store

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"

	"github.com/gofrs/flock"
	"github.com/jmoiron/sqlx"
	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
)

// Config says where the records are.
type Config struct {
	// URL is a path to a SQLite file, or a postgres:// address.
	URL string
	// OwnerURL migrates a PostgreSQL database when the application connects as another role. Empty
	// means URL does both: it migrates as itself and then works as the role footing_app.
	OwnerURL string
	// AsIs neither makes nor migrates a database: it must be there, as this program knows it.
	AsIs bool
	// Fast gives up durability for speed. For tests.
	Fast bool
	// Watch is told of every transaction as it ends, for measurements; nil for nobody.
	Watch func(Transaction)
}

// Store is an open database. It is safe for concurrent use.
type Store struct {
	db      *sqlx.DB // the writer; on SQLite a pool of one
	dialect dialect
	ran     atomic.Int64
	watch   func(Transaction)

	prepared prepared
}

// Errors that callers tell apart.
var (
	// ErrNewer means the schema was made by a later version of this program.
	ErrNewer = errors.New("the database was written by a newer version of footing; use that version")
	// ErrOlder means the schema was made by an earlier version of this program, and was not to be changed.
	ErrOlder = errors.New("the database was written by an older version of footing; start serve first")
	// ErrInUse means another process has the SQLite file.
	ErrInUse = errors.New("the database file is in use by another footing process")
	// ErrNotFound means the row looked for is not there; a failed query is never this.
	ErrNotFound = errors.New("not found")
	// ErrUnreachable means the database did not answer or could not be opened.
	ErrUnreachable = errors.New("the database cannot be reached")
)

// Open connects, migrates and checks. The error wraps ErrUnreachable or ErrNewer where that is why.
func Open(ctx context.Context, c Config) (*Store, error) {
	d, err := dialectFor(c.URL)
	if err != nil {
		return nil, err
	}
	if c.AsIs {
		err = asIs(ctx, d, c)
	} else {
		err = migrate(ctx, d, c)
	}
	if err != nil {
		return nil, err
	}
	db, err := d.connect(ctx, c.URL, c.OwnerURL == "", c.Fast)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrUnreachable, err)
	}
	return &Store{db: db, dialect: d, watch: c.Watch, prepared: prepared{list: map[string]*sqlx.Stmt{}, next: map[string]bool{}}}, nil
}

// Close ends all connections.
func (s *Store) Close() error {
	s.prepared.close()
	return s.db.Close()
}

// Engine is "sqlite" or "postgres".
func (s *Store) Engine() string { return s.dialect.name }

// Statements counts the statements of all transactions so far, for measurements.
func (s *Store) Statements() int64 { return s.ran.Load() }

// DB gives tests the raw connection, to look at rows and to break things.
func (s *Store) DB() *sql.DB { return s.db.DB }

// Lock takes the SQLite file for one process until unlock is called; two bots on one file would
// undo each other's leases. On PostgreSQL it does nothing.
func Lock(url string) (unlock func(), err error) {
	d, err := dialectFor(url)
	if err != nil {
		return nil, err
	}
	if d.name != sqlite {
		return func() {}, nil
	}
	l := flock.New(sqlitePath(url) + ".lock")
	ok, err := l.TryLock()
	if err != nil {
		return nil, fmt.Errorf("%w: locking: %w", ErrUnreachable, err)
	}
	if !ok {
		return nil, ErrInUse
	}
	return func() { _ = l.Unlock() }, nil
}

// migrate brings the schema up. Several starters at once do it once: PostgreSQL by an advisory lock,
// SQLite by a lock file.
func migrate(ctx context.Context, d dialect, c Config) error {
	url := c.URL
	if c.OwnerURL != "" {
		url = c.OwnerURL
	}
	opts := []goose.ProviderOption{}
	if d.name == postgres {
		locker, err := lock.NewPostgresSessionLocker(lock.WithLockTimeout(1, 60), lock.WithUnlockTimeout(1, 60))
		if err != nil {
			return fmt.Errorf("making the migration lock: %w", err)
		}
		opts = append(opts, goose.WithSessionLocker(locker))
	} else {
		l := flock.New(sqlitePath(url) + ".migrate.lock")
		if err := l.Lock(); err != nil {
			return fmt.Errorf("%w: locking for migration in %s: %w", ErrUnreachable, filepath.Dir(sqlitePath(url)), err)
		}
		defer func() { _ = l.Unlock() }()
	}
	db, err := d.connect(ctx, url, false, c.Fast)
	if err != nil {
		return fmt.Errorf("%w: %w", ErrUnreachable, err)
	}
	defer func() { _ = db.Close() }()
	p, err := provider(d, db.DB, opts...)
	if err != nil {
		return err
	}
	if err := refuseNewer(ctx, p); err != nil {
		return err
	}
	if _, err := p.Up(ctx); err != nil {
		return failed("migrating the schema", err)
	}
	return nil
}

// asIs refuses a database that is not there, or whose schema is not the one this program knows.
func asIs(ctx context.Context, d dialect, c Config) error {
	if d.name == sqlite {
		if _, err := os.Stat(sqlitePath(c.URL)); err != nil {
			return fmt.Errorf("%w: there is no such file", ErrUnreachable)
		}
	}
	db, err := d.connect(ctx, cmp.Or(c.OwnerURL, c.URL), false, c.Fast)
	if err != nil {
		return fmt.Errorf("%w: %w", ErrUnreachable, err)
	}
	defer func() { _ = db.Close() }()
	p, err := provider(d, db.DB)
	if err != nil {
		return err
	}
	if err := refuseNewer(ctx, p); err != nil {
		return err
	}
	if waiting, err := p.HasPending(ctx); err != nil || waiting {
		return errors.Join(ErrOlder, err)
	}
	return nil
}

func provider(d dialect, db *sql.DB, opts ...goose.ProviderOption) (*goose.Provider, error) {
	files, err := fs.Sub(d.files, d.name)
	if err != nil {
		return nil, fmt.Errorf("reading migrations: %w", err)
	}
	p, err := goose.NewProvider(d.goose, db, files, opts...)
	if err != nil {
		return nil, fmt.Errorf("preparing migrations: %w", err)
	}
	return p, nil
}

func refuseNewer(ctx context.Context, p *goose.Provider) error {
	at, err := p.GetDBVersion(ctx)
	if err != nil {
		return fmt.Errorf("%w: reading the schema version: %w", ErrUnreachable, err)
	}
	list := p.ListSources()
	if newest := list[len(list)-1].Version; at > newest {
		return fmt.Errorf("%w (schema %d, this one knows %d)", ErrNewer, at, newest)
	}
	return nil
}

func sqlitePath(url string) string {
	path := strings.TrimPrefix(strings.TrimPrefix(url, "sqlite://"), "file:")
	path, _, _ = strings.Cut(path, "?")
	return path
}
