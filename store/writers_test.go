package store_test

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"strconv"
	"testing"
	"time"

	"footing/rehab"
	"footing/store"
	"footing/store/storetest"
)

// countAndAdd is what every command does: read an athlete's log, then add to it by what was read.
// The entry added says how many were there. seen is called between the two.
func countAndAdd(q squad, tx *store.Tx, locks bool, seen func()) error {
	if locks {
		if _, err := tx.Lock(ctx, q.a.ID); err != nil {
			return err
		}
	}
	entries, err := tx.Entries(ctx, q.a.ID)
	if err != nil {
		return err
	}
	seen()
	return tx.Append(ctx, []rehab.Entry{q.note(q.a.ID, "m1", strconv.Itoa(len(entries)))})
}

// counts lists what the writers said they had seen, by seq. A number that is there twice is an
// update that one writer lost.
func counts(q squad) (out []string) {
	q.t.Helper()
	q.at(noon, func(tx *store.Tx) {
		for _, e := range must(tx.Entries(ctx, q.a.ID))(q.t) {
			out = append(out, e.Body.(rehab.Noted).Text)
		}
	})
	return out
}

func TestWritersOnOneAthleteLoseNothing(t *testing.T) {
	share(t, cases{
		"two":   func(t *testing.T, q squad) { hammer(t, q, 2, 12) },
		"eight": func(t *testing.T, q squad) { hammer(t, q, 8, 4) },
	})
}

// hammer lets some writers, each a process of its own, add to one log as fast as they can.
func hammer(t *testing.T, q squad, writers, each int) {
	failed, begin := make(chan error, writers), make(chan struct{})
	for range writers {
		s := storetest.Open(t, q.config)
		go func() {
			<-begin
			var errs []error
			for range each {
				errs = append(errs, q.try(s, noon, func(tx *store.Tx) error { return countAndAdd(q, tx, true, runtime.Gosched) }))
			}
			failed <- errors.Join(errs...)
		}()
	}
	close(begin)
	for range writers {
		ok(t, <-failed)
	}
	var want []string
	for i := range writers * each {
		want = append(want, strconv.Itoa(i))
	}
	same(t, "what each saw", counts(q), want)
	same(t, "the seq named", must(broken(q, q.a.ID))(t), int64(0))
	q.at(noon, func(tx *store.Tx) {
		same(t, "the last seq", must(tx.Lock(ctx, q.a.ID))(t)[q.a.ID], int64(len(want)))
	})
}

func TestLocks(t *testing.T) {
	onPostgres(t, cases{
		"Writers without the lock lose an update": writersWithoutTheLockLoseAnUpdate,
		"Lock makes the second writer wait":       lockMakesTheSecondWriterWait,
		"Lock order does not deadlock":            lockOrderDoesNotDeadlock,
		"Deadlock is retried":                     deadlockIsRetried,
		"Messages to one room do not wait":        messagesToOneRoomDoNotWait,
		"Log that grows meanwhile is whole":       logThatGrowsIsWhole,
		"Claim passes over what is being claimed": claimPassesOverWhatIsBeingClaimed,
	})
}

// Without the lock the same work does lose an update where two transactions run at once: what the
// test above shows is owed to Lock. Both read before either adds. (On SQLite the second transaction
// does not even begin before the first ends.)
func writersWithoutTheLockLoseAnUpdate(t *testing.T, q squad) {
	mine, theirs, failed := make(chan struct{}), make(chan struct{}), make(chan error, 2)
	meet := func(i, other chan struct{}) func() {
		return func() {
			close(i)
			<-other
		}
	}
	for _, seen := range []func(){meet(mine, theirs), meet(theirs, mine)} {
		s := storetest.Open(t, q.config)
		go func() {
			failed <- q.try(s, noon, func(tx *store.Tx) error { return countAndAdd(q, tx, false, seen) })
		}()
	}
	ok(t, <-failed)
	ok(t, <-failed)
	same(t, "what each saw", counts(q), []string{"0", "0"})
	same(t, "the seq named", must(broken(q, q.a.ID))(t), int64(0)) // the chain holds even so
}

// The second writer stands at Lock while the first is between reading and adding.
func lockMakesTheSecondWriterWait(t *testing.T, q squad) {
	other, failed := storetest.Open(t, q.config), make(chan error, 1)
	q.at(noon, func(tx *store.Tx) {
		ok(t, countAndAdd(q, tx, true, func() {
			go func() {
				failed <- q.try(other, noon, func(tx *store.Tx) error { return countAndAdd(q, tx, true, func() {}) })
			}()
			untilWaiting(q, 1)
		}))
	})
	ok(t, <-failed)
	same(t, "what each saw", counts(q), []string{"0", "1"})
}

// untilWaiting returns once so many of the database's connections wait for a lock.
func untilWaiting(q squad, n int) {
	q.t.Helper()
	query := `SELECT count(*) FROM pg_locks l JOIN pg_stat_activity a USING (pid) WHERE a.datname = current_database() AND NOT l.granted`
	for end := time.Now().Add(5 * time.Second); rows(q.t, q.db, query)[0] != strconv.Itoa(n); {
		if time.Now().After(end) {
			q.t.Fatalf("%d connections never waited", n)
		}
	}
}

// One writer names the athletes in one order, another in the other. Lock takes them in id order, so
// a writer that waits for the first holds nothing that whoever has the first may want next.
func lockOrderDoesNotDeadlock(t *testing.T, q squad) {
	first, second := min(q.a.ID, q.b.ID), max(q.a.ID, q.b.ID)
	other, failed := storetest.Open(t, q.config), make(chan error, 1)
	for _, order := range [][]int64{{first, second}, {second, first}} {
		mine, theirs := 0, 0
		q.at(noon, func(tx *store.Tx) {
			mine++
			must(tx.Lock(ctx, first))(t)
			go func() {
				failed <- q.try(other, noon, func(tx *store.Tx) error {
					theirs++
					_, err := tx.Lock(ctx, order...)
					return err
				})
			}()
			untilWaiting(q, 1)
			must(tx.Lock(ctx, second))(t)
		})
		ok(t, <-failed)
		// A deadlock would have been solved by running one of them again.
		same(t, fmt.Sprint("runs with ", order), []int{mine, theirs}, []int{1, 1})
	}
}

// Two transactions that lock by turns do deadlock. PostgreSQL ends one of them and Do runs it again.
func deadlockIsRetried(t *testing.T, q squad) {
	runs, failed := make(chan int64, 10), make(chan error, 2)
	first := map[int64]chan struct{}{q.a.ID: make(chan struct{}), q.b.ID: make(chan struct{})}
	work := func(s *store.Store, mine, theirs int64) error {
		again := false
		return q.try(s, noon, func(tx *store.Tx) error {
			runs <- mine
			if _, err := tx.Lock(ctx, mine); err != nil {
				return err
			}
			if !again {
				again = true
				close(first[mine])
				<-first[theirs]
			}
			if _, err := tx.Lock(ctx, theirs); err != nil {
				return err
			}
			return tx.Append(ctx, []rehab.Entry{q.note(mine, "m1", "kept once")})
		})
	}
	other := storetest.Open(t, q.config)
	go func() { failed <- work(q.s, q.a.ID, q.b.ID) }()
	go func() { failed <- work(other, q.b.ID, q.a.ID) }()
	ok(t, <-failed)
	ok(t, <-failed)
	if n := len(runs); n < 3 {
		t.Errorf("there was no deadlock to retry: %d runs", n)
	}
	q.at(noon, func(tx *store.Tx) {
		for id, entries := range must(tx.TeamEntries(ctx))(t) {
			same(t, fmt.Sprint("entries of ", id), seqs(entries), []int64{1})
		}
	})
}

// Most work ends with a message to the same few rooms. If that took the room, work about different
// athletes would go one after the other.
func messagesToOneRoomDoNotWait(t *testing.T, q squad) {
	enqueue(q, "medical", "the first makes the room")
	other := storetest.Open(t, q.config)
	limited, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	say := func(tx *store.Tx, key string) error {
		_, err := tx.Enqueue(limited, store.Outgoing{Destination: "medical", Kind: "reply", Key: key, Body: "x", Due: noon})
		return err
	}
	q.at(noon, func(tx *store.Tx) {
		ok(t, say(tx, "k1"))
		ok(t, q.try(other, noon, func(tx *store.Tx) error { return say(tx, "k2") }))
	})
}

// A log is verified while a writer adds to it. What came in between two reads is no damage.
func logThatGrowsIsWhole(t *testing.T, q squad) {
	other, stop, failed := storetest.Open(t, q.config), make(chan struct{}), make(chan error, 1)
	go func() {
		for {
			select {
			case <-stop:
				failed <- nil
				return
			default:
			}
			if err := q.try(other, noon, func(tx *store.Tx) error { return tx.Append(ctx, []rehab.Entry{q.note(q.a.ID, "m1", "x")}) }); err != nil {
				failed <- err
				return
			}
		}
	}()
	for range 25 {
		if seq, err := broken(q, q.a.ID); err != nil || seq != 0 {
			t.Errorf("seq %d is named, error %v", seq, err)
			break
		}
	}
	close(stop)
	ok(t, <-failed)
}
