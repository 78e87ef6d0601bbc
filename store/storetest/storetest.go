// Package storetest gives each test a fresh, migrated database on each engine.
//
// SQLite always runs. PostgreSQL runs where FOOTING_TEST_PG_OWNER and FOOTING_TEST_PG_APP hold the
// addresses of a test server's owner and application roles (make test starts one); without them it
// is left out, loudly, unless FOOTING_REQUIRE_PG is set, which makes that a failure.
package storetest

import (
	"context"
	"database/sql"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"footing/store"
)

// Each runs a test once per engine. config is a fresh migrated database of its own, to be opened as
// often as the test likes.
func Each(t *testing.T, f func(t *testing.T, config store.Config)) {
	t.Helper()
	t.Run("sqlite", func(t *testing.T) { f(t, SQLite(t)) })
	t.Run("postgres", func(t *testing.T) { f(t, Postgres(t)) })
}

// EachOpen is Each with the database opened, and closed when the test ends.
func EachOpen(t *testing.T, f func(t *testing.T, s *store.Store)) {
	t.Helper()
	Each(t, func(t *testing.T, c store.Config) { f(t, Open(t, c)) })
}

// Open opens a database and closes it when the test ends.
func Open(t testing.TB, c store.Config) *store.Store {
	t.Helper()
	s, err := store.Open(context.Background(), c)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	return s
}

var sqliteTemplate = sync.OnceValues(func() ([]byte, error) {
	dir, err := os.MkdirTemp("", "footing-template-")
	if err != nil {
		return nil, err
	}
	defer func() { _ = os.RemoveAll(dir) }()
	path := filepath.Join(dir, "template.db")
	s, err := store.Open(context.Background(), store.Config{URL: path, Fast: true})
	if err != nil {
		return nil, err
	}
	if _, err := s.DB().Exec("PRAGMA wal_checkpoint(TRUNCATE)"); err != nil {
		return nil, err
	}
	if err := s.Close(); err != nil {
		return nil, err
	}
	return os.ReadFile(path)
})

// SQLite gives a fresh SQLite file.
func SQLite(t testing.TB) store.Config {
	t.Helper()
	template, err := sqliteTemplate()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "test.db")
	if err := os.WriteFile(path, template, 0o600); err != nil {
		t.Fatal(err)
	}
	return store.Config{URL: path, Fast: true}
}

var leftOut sync.Once

// Postgres gives a fresh PostgreSQL database, reached as the application role.
func Postgres(t testing.TB) store.Config {
	t.Helper()
	owner, app := os.Getenv("FOOTING_TEST_PG_OWNER"), os.Getenv("FOOTING_TEST_PG_APP")
	if owner == "" || app == "" {
		if os.Getenv("FOOTING_REQUIRE_PG") != "" {
			t.Fatal("PostgreSQL is required here but no test server was started; run make test")
		}
		leftOut.Do(func() {
			// go test hides a passing package's output, so say it where a person sees it.
			if tty, err := os.OpenFile("/dev/tty", os.O_WRONLY, 0); err == nil {
				_, _ = fmt.Fprintln(tty, "*** PostgreSQL LEFT OUT: only SQLite is tested. Run make test for both. ***")
				_ = tty.Close()
			}
		})
		t.Skip("PostgreSQL LEFT OUT: run make test for both engines")
	}
	template, err := postgresTemplate()
	if err != nil {
		t.Fatal(err)
	}
	return create(t, owner, app, template)
}

var databases atomic.Int64

func create(t testing.TB, owner, app, template string) store.Config {
	t.Helper()
	name := fmt.Sprintf("t_%d_%d", os.Getpid(), databases.Add(1))
	admin, err := sql.Open("postgres", owner)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := admin.Exec("CREATE DATABASE " + name + " TEMPLATE " + template + " STRATEGY file_copy"); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if _, err := admin.Exec("DROP DATABASE IF EXISTS " + name + " WITH (FORCE)"); err != nil {
			t.Log(err)
		}
		_ = admin.Close()
	})
	return store.Config{URL: on(app, name), OwnerURL: on(owner, name)}
}

// postgresTemplate migrates one database per test process; the tests copy it.
var postgresTemplate = sync.OnceValues(func() (string, error) {
	owner, app := os.Getenv("FOOTING_TEST_PG_OWNER"), os.Getenv("FOOTING_TEST_PG_APP")
	name := fmt.Sprintf("template_%d", os.Getpid())
	admin, err := sql.Open("postgres", owner)
	if err != nil {
		return "", err
	}
	defer func() { _ = admin.Close() }()
	if _, err := admin.Exec("CREATE DATABASE " + name); err != nil {
		return "", err
	}
	s, err := store.Open(context.Background(), store.Config{URL: on(app, name), OwnerURL: on(owner, name)})
	if err != nil {
		return "", err
	}
	return name, s.Close()
})

// on is a server address with another database.
func on(address, database string) string {
	u, err := url.Parse(address)
	if err != nil {
		return address
	}
	u.Path = "/" + strings.TrimPrefix(database, "/")
	return u.String()
}
