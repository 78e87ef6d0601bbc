package store_test

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"footing/store"
	"footing/store/storetest"
)

// empty gives a database without a schema on each engine.
func empty(t *testing.T, f func(t *testing.T, c store.Config)) {
	t.Helper()
	t.Parallel()
	t.Run("sqlite", func(t *testing.T) { f(t, store.Config{URL: filepath.Join(t.TempDir(), "new.db"), Fast: true}) })
	t.Run("postgres", func(t *testing.T) {
		c := storetest.Postgres(t) // it also leaves the test out where there is no server
		db := raw(t, c)
		exec(t, db, `DROP SCHEMA public CASCADE`)
		exec(t, db, `CREATE SCHEMA public`)
		f(t, c)
	})
}

func TestManyStartersMigrateOnce(t *testing.T) {
	empty(t, func(t *testing.T, c store.Config) {
		const starters = 6
		begin, failed := make(chan struct{}), make(chan error, starters)
		for i := range starters {
			go func() {
				<-begin
				s, err := store.Open(ctx, c)
				if err == nil {
					err = s.Do(ctx, noon, func(tx *store.Tx) error {
						_, err := tx.Claim(ctx, fmt.Sprint("starter ", i))
						return err
					})
					err = errors.Join(err, s.Close())
				}
				failed <- err
			}()
		}
		close(begin)
		for range starters {
			ok(t, <-failed)
		}
		db := raw(t, c)
		same(t, "starters that worked", rows(t, db, `SELECT count(*) FROM inbox`), []string{"6"})
		same(t, "versions applied more than once", rows(t, db, `SELECT version_id FROM goose_db_version GROUP BY version_id HAVING count(*) > 1`), []string{})
		if len(rows(t, db, `SELECT 1 FROM goose_db_version WHERE version_id = 1`)) != 1 {
			t.Error("the first migration is not recorded")
		}
	})
}

func TestOpeningAgainChangesNothing(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, c store.Config) {
		db, query := raw(t, c), `SELECT id, version_id, tstamp FROM goose_db_version ORDER BY id`
		before := rows(t, db, query)
		s := storetest.Open(t, c)
		same(t, "the migrations applied", rows(t, db, query), before)
		same(t, "the engine is PostgreSQL", s.Engine() == "postgres", c.OwnerURL != "")
	})
}

func TestNewerDatabaseIsRefusedAndLeftAlone(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, c store.Config) {
		db := raw(t, c)
		schema := sqliteSchema
		if c.OwnerURL != "" {
			schema = postgresSchema
		}
		exec(t, db, `DROP TABLE told`) // a later version may have done without it; this one must not put it back
		exec(t, db, `INSERT INTO goose_db_version (version_id, is_applied) VALUES (9999, true)`)
		state := func() []string {
			return append(schemaOf(t, db, schema), rows(t, db, `SELECT id, version_id, tstamp FROM goose_db_version ORDER BY id`)...)
		}
		before := state()
		s, err := store.Open(ctx, c)
		is(t, "opening it", err, store.ErrNewer)
		if s != nil {
			t.Error("a store was given with the error")
		}
		if err != nil && !strings.Contains(err.Error(), "9999") {
			t.Errorf("the error does not say which version was found: %v", err)
		}
		same(t, "the schema", state(), before)
	})
}

// closed is a port nobody listens on.
func closed(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	ok(t, err)
	defer func() { _ = l.Close() }()
	return l.Addr().String()
}

// silent is a port that takes connections and never says a word.
func silent(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	ok(t, err)
	t.Cleanup(func() { _ = l.Close() })
	return l.Addr().String()
}

const secret = "Gr8heron"

// Whoever runs the bot sees these errors in logs and on paper. A password must not be among them,
// also when the address is not quite one.
func TestUnreachableDatabase(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "missing")
	postgres := "postgres://bot:" + secret + "@" + closed(t) + "/footing?sslmode=disable"
	for name, c := range map[string]store.Config{
		"closed port":                 {URL: postgres},
		"closed port, the owner's":    {URL: postgres, OwnerURL: postgres},
		"a server that never answers": {URL: "postgres://bot:" + secret + "@" + silent(t) + "/footing?sslmode=disable&connect_timeout=1"},
		"no such directory":           {URL: filepath.Join(dir, "footing.db")},
		"a directory for a file":      {URL: t.TempDir()},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			limited, cancel := context.WithTimeout(ctx, 5*time.Second)
			defer cancel()
			_, err := store.Open(limited, c)
			is(t, "opening it", err, store.ErrUnreachable)
			if limited.Err() != nil {
				t.Error("it took more than a few seconds")
			}
			if err != nil && strings.Contains(err.Error(), secret) {
				t.Errorf("the password is in the error: %v", err)
			}
		})
	}
	if _, err := os.Stat(dir); !errors.Is(err, os.ErrNotExist) {
		t.Error("the missing directory was made")
	}
}

func TestErrorsKeepThePassword(t *testing.T) {
	t.Parallel()
	at := ":" + secret + "@" + closed(t) + "/footing"
	// Not quite addresses. What looks like a file is put into a directory that is not there, so that
	// none is made.
	for _, address := range []string{
		"postgres://bot" + at + "?sslmode=maybe",
		"postgres://bot" + at + "?sslmode=disable&%zz",
		"postgres://bot:" + secret + "@[::1/footing",
		"postgres://bot:" + secret + "@localhost:port/footing",
		"postgresql://bot" + at + "?sslmode=verify-full&sslrootcert=/missing",
		"POSTGRES://bot" + at,
		" postgres://bot" + at,
		"postgresql+ssl://bot" + at,
		"postgres:/bot" + at,
		"host=127.0.0.1 user=bot password=" + secret + " sslrootcert=/missing/ca",
	} {
		if _, err := store.Open(ctx, store.Config{URL: address}); err == nil || strings.Contains(err.Error(), secret) {
			t.Errorf("opening %q says %v", strings.ReplaceAll(address, secret, "…"), err)
		}
		if _, err := store.Lock(address); err != nil && strings.Contains(err.Error(), secret) {
			t.Errorf("locking %q says %v", strings.ReplaceAll(address, secret, "…"), err)
		}
	}
}

func TestWrongPasswordOrDatabaseIsUnreachable(t *testing.T) {
	t.Parallel()
	c := storetest.Postgres(t)
	u, err := url.Parse(c.URL)
	ok(t, err)
	u.User = url.UserPassword("stranger", secret)
	_, err = store.Open(ctx, store.Config{URL: u.String(), OwnerURL: c.OwnerURL})
	is(t, "an unknown user", err, store.ErrUnreachable)
	if err != nil && strings.Contains(err.Error(), secret) {
		t.Errorf("the password is in the error: %v", err)
	}
	u, err = url.Parse(c.OwnerURL)
	ok(t, err)
	u.Path = "/missing"
	_, err = store.Open(ctx, store.Config{URL: c.URL, OwnerURL: u.String()})
	is(t, "an unknown database", err, store.ErrUnreachable)
}
