package store_test

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"

	"footing/rehab"
	"footing/store"
	"footing/store/storetest"
)

var ctx = context.Background()

// noon is when the tests happen. Its microseconds show whether an instant is kept whole.
var noon = time.Date(2026, 3, 2, 12, 0, 0, 123456000, time.UTC)

const hash = "sha256:of-a-protocol"

// squad is a team with a physio and two athletes, in a database of its own.
type squad struct {
	t      *testing.T
	config store.Config
	s      *store.Store
	db     *sql.DB // reaches the rows past the store and past row security, as someone with SQL would
	team   rehab.Team
	physio rehab.Member
	a, b   rehab.Athlete
}

type cases map[string]func(t *testing.T, q squad)

// share runs every case on each engine. To make a database for each would be most of the work, so
// the cases of one test share one; each finds it empty but for a squad of its own.
func share(t *testing.T, list cases) {
	t.Helper()
	t.Parallel()
	storetest.Each(t, func(t *testing.T, c store.Config) { list.run(t, c) })
}

// onPostgres is share for what only an engine with many writers, or with roles, shows.
func onPostgres(t *testing.T, list cases) {
	t.Helper()
	t.Parallel()
	list.run(t, storetest.Postgres(t))
}

func (list cases) run(t *testing.T, c store.Config) {
	t.Helper()
	q := squad{config: c, s: storetest.Open(t, c), db: raw(t, c)}
	for name, f := range list {
		t.Run(name, func(t *testing.T) {
			for _, table := range tables {
				exec(t, q.db, "DELETE FROM "+table)
			}
			f(t, q.found(t, "otters"))
		})
	}
}

// tables lists every table, those that point to others first.
var tables = []string{
	"looks", "cursors", "accounts", "links", "told", "occurrences", "outbox_bodies", "outbox", "destinations", "pending", "inbox", "decisions", "measurements",
	"entries", "messages", "athlete_state", "members", "athletes", "teams", "protocols",
}

// found makes a team in the squad's database and gives it as a squad.
func (q squad) found(t *testing.T, key string) squad {
	t.Helper()
	q.t = t
	ok(t, q.s.Do(ctx, noon, func(tx *store.Tx) error {
		ok(t, tx.PutProtocol(ctx, hash, "plain", "text", false))
		q.team = must(tx.PutTeam(ctx, rehab.Team{Key: key, Name: "The " + key, Zone: "Pacific/Auckland", ReportAt: "07:30", Protocol: hash}))(t)
		ok(t, tx.Enter(ctx, q.team.ID))
		q.physio = must(tx.Member(ctx, "physio", []rehab.Role{rehab.Medical}))(t)
		q.a = must(tx.AddAthlete(ctx, rehab.Athlete{Shirt: 7, Name: "Mere Tau"}, strings.ToLower))(t)
		q.b = must(tx.AddAthlete(ctx, rehab.Athlete{Shirt: 9, Name: "Ana Reed"}, strings.ToLower))(t)
		return nil
	}))
	return q
}

// at runs f in one transaction for the team. It may end the test: that rolls back.
func (q squad) at(now time.Time, f func(tx *store.Tx)) {
	q.t.Helper()
	ok(q.t, q.try(q.s, now, func(tx *store.Tx) error { f(tx); return nil }))
}

// try is at for other stores and for work that may fail.
func (q squad) try(s *store.Store, now time.Time, f func(tx *store.Tx) error) error {
	return s.Do(ctx, now, func(tx *store.Tx) error {
		if err := tx.Enter(ctx, q.team.ID); err != nil {
			return err
		}
		return f(tx)
	})
}

// note is an entry by the physio.
func (q squad) note(athlete int64, source, text string) rehab.Entry {
	return rehab.Entry{Athlete: athlete, At: noon, Author: q.physio.ID, Source: source, Body: rehab.Noted{Text: text}}
}

// raw opens a connection of the database's owner.
func raw(t *testing.T, c store.Config) *sql.DB {
	t.Helper()
	driver, address := "sqlite", "file:"+c.URL+"?_txlock=immediate&_pragma=busy_timeout(5000)"
	if strings.HasPrefix(c.URL, "postgres") {
		driver, address = "postgres", c.OwnerURL
	}
	db, err := sql.Open(driver, address)
	ok(t, err)
	t.Cleanup(func() { _ = db.Close() })
	return db
}

// rows gives a query's rows as text, the same on both engines: columns parted by "|".
func rows(t *testing.T, db *sql.DB, query string, args ...any) []string {
	t.Helper()
	r, err := db.Query(query, args...)
	if err != nil {
		t.Fatalf("%s: %v", query, err)
	}
	defer func() { _ = r.Close() }()
	values := make([]any, len(must(r.Columns())(t)))
	to := make([]any, len(values))
	for i := range values {
		to[i] = &values[i]
	}
	out := []string{}
	for r.Next() {
		ok(t, r.Scan(to...))
		line := make([]string, len(values))
		for i, v := range values {
			line[i] = text(v)
		}
		out = append(out, strings.Join(line, "|"))
	}
	ok(t, r.Err())
	return out
}

func text(v any) string {
	switch v := v.(type) {
	case nil:
		return "null"
	case bool:
		if v {
			return "1"
		}
		return "0"
	case []byte:
		return string(v)
	case time.Time:
		return v.UTC().Format("2006-01-02T15:04:05.000000Z")
	}
	return fmt.Sprint(v)
}

func exec(t *testing.T, db *sql.DB, query string, args ...any) {
	t.Helper()
	if _, err := db.Exec(query, args...); err != nil {
		t.Fatalf("%s: %v", query, err)
	}
}

func ok(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// must takes a call's answers, then the test to fail: must(tx.Teams(ctx))(t).
func must[T any](v T, err error) func(*testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		ok(t, err)
		return v
	}
}

func same(t *testing.T, what string, got, want any) {
	t.Helper()
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%s:\n got %v\nwant %v", what, got, want)
	}
}

func is(t *testing.T, what string, err, want error) {
	t.Helper()
	if !errors.Is(err, want) {
		t.Errorf("%s: got %v, want %v", what, err, want)
	}
}

// seqs lists the seqs of entries, in the order given.
func seqs(entries []rehab.Entry) []int64 {
	out := make([]int64, len(entries))
	for i, e := range entries {
		out[i] = e.Seq
	}
	return out
}
