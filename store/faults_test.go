package store_test

import (
	"context"
	"testing"

	"footing/store"
	"footing/store/storetest"
)

func TestServerFaults(t *testing.T) {
	onPostgres(t, cases{
		"Failure within is retried": func(t *testing.T, q squad) {
			failsOnce(t, q, `CREATE TRIGGER hiccup BEFORE INSERT ON inbox FOR EACH ROW EXECUTE FUNCTION hiccup()`)
		},
		"Failure at the commit is retried": func(t *testing.T, q squad) {
			failsOnce(t, q, `CREATE CONSTRAINT TRIGGER hiccup AFTER INSERT ON inbox DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION hiccup()`)
		},
		"Lost commit is unknown": lostCommitIsUnknown,
	})
}

// failsOnce lets the server itself fail the first of two runs.
func failsOnce(t *testing.T, q squad, trigger string) {
	// A sequence does not roll back, so it counts the runs.
	exec(t, q.db, `CREATE SEQUENCE runs`)
	exec(t, q.db, `GRANT USAGE ON SEQUENCE runs TO footing_app`)
	exec(t, q.db, `CREATE FUNCTION hiccup() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN
		IF nextval('runs') = 1 THEN RAISE 'once' USING ERRCODE = 'serialization_failure'; END IF; RETURN NEW; END $$`)
	exec(t, q.db, trigger)
	defer exec(t, q.db, `DROP FUNCTION hiccup CASCADE; DROP SEQUENCE runs`)
	runs := 0
	ok(t, q.try(q.s, noon, func(tx *store.Tx) error {
		runs++
		_, err := tx.Claim(ctx, "e1")
		return err
	}))
	same(t, "runs", runs, 2)
	same(t, "claimed", must(q.s.Claimed(ctx, "e1"))(t), true)
}

// The connection dies before the commit is answered. Nobody can tell whether it happened, so it must
// not be tried again blindly; the natural key tells.
func lostCommitIsUnknown(t *testing.T, q squad) {
	runs := 0
	err := q.try(q.s, noon, func(tx *store.Tx) error {
		runs++
		must(tx.Claim(ctx, "e1"))(t)
		same(t, "connections ended", rows(t, q.s.DB(), `SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database() AND usename = current_user AND state = 'idle in transaction'`), []string{"1"})
		return nil
	})
	is(t, "the commit", err, store.ErrCommitUnknown)
	same(t, "runs", runs, 1)
	same(t, "claimed", must(q.s.Claimed(ctx, "e1"))(t), false)
}

// Another process writes to the SQLite file and does not stop.
func TestFileHeldByAnotherProcess(t *testing.T) {
	t.Parallel()
	c := storetest.SQLite(t)
	q := squad{config: c, s: storetest.Open(t, c), db: raw(t, c)}.found(t, "otters")
	held, err := q.db.BeginTx(ctx, nil) // the address asks for BEGIN IMMEDIATE
	ok(t, err)
	// Seconds of waiting are for real life. The pool has one connection, so this reaches all of it.
	exec(t, q.s.DB(), `PRAGMA busy_timeout = 1`)

	runs := 0
	err = q.s.Do(ctx, noon, func(*store.Tx) error { runs++; return nil })
	is(t, "writing meanwhile", err, store.ErrUnreachable)
	same(t, "runs", runs, 0)

	// Whoever waits is not bound to wait to the end.
	limited, cancel := context.WithCancel(ctx)
	cancel()
	is(t, "writing when nobody waits", q.s.Do(limited, noon, func(*store.Tx) error { return nil }), context.Canceled)

	ok(t, held.Rollback())
	q.at(noon, func(tx *store.Tx) { same(t, "writing afterwards", must(tx.Claim(ctx, "e1"))(t), true) })
}
