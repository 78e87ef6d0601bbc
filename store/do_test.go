package store_test

import (
	"context"
	"errors"
	"fmt"
	"testing"

	"github.com/lib/pq"
	"github.com/lib/pq/pqerror"

	"footing/rehab"
	"footing/store"
)

func TestDo(t *testing.T) {
	share(t, cases{
		"Other errors are not retried":              otherErrorsAreNotRetried,
		"Retryable failure runs everything again":   retryableFailureRunsEverythingAgain,
		"Retrying ends":                             retryingEnds,
		"Retrying stops when nobody waits any more": retryingStopsWithItsContext,
		"Panic rolls back":                          panicRollsBack,
		"Cancelled work leaves nothing":             cancelledWorkLeavesNothing,
		"Logs hold no values":                       logsHoldNoValues,
		"What follows a commit follows it once":     whatFollowsACommitFollowsItOnce,
	})
}

func otherErrorsAreNotRetried(t *testing.T, q squad) {
	for _, failure := range []error{
		errAny,
		store.ErrNotFound,
		store.ErrCommitUnknown,
		context.DeadlineExceeded,
		&pq.Error{Code: "23505"}, // unique violation
		&pq.Error{Code: "57014"}, // query cancelled
	} {
		runs := 0
		err := q.try(q.s, noon, func(tx *store.Tx) error {
			runs++
			must(tx.Claim(ctx, "e1"))(t)
			return failure
		})
		same(t, fmt.Sprintf("runs that fail with %v", failure), runs, 1)
		if !errors.Is(err, failure) {
			t.Errorf("%v came back as %v", failure, err)
		}
		same(t, "claimed", must(q.s.Claimed(ctx, "e1"))(t), false)
	}
}

func whatFollowsACommitFollowsItOnce(t *testing.T, q squad) {
	runs, after := 0, 0
	work := func(failure error) func(*store.Tx) error {
		return func(tx *store.Tx) error {
			runs++
			tx.Then(func() { after++ })
			same(t, "before the commit", after, 0)
			if runs < 3 {
				return failure
			}
			return nil
		}
	}
	ok(t, q.try(q.s, noon, work(&pq.Error{Code: "40001"})))
	same(t, "after three runs", after, 1)
	runs, after = 0, 0
	is(t, "failed work", q.try(q.s, noon, work(errAny)), errAny)
	same(t, "after failed work", after, 0)
}

func retryableFailureRunsEverythingAgain(t *testing.T, q squad) {
	for _, code := range []pqerror.Code{"40001", "40P01", "55P03"} {
		runs := 0
		ok(t, q.try(q.s, noon, func(tx *store.Tx) error {
			runs++
			ok(t, tx.Append(ctx, []rehab.Entry{q.note(q.a.ID, string(code), "kept once")}))
			if runs < 3 {
				return fmt.Errorf("in the middle: %w", &pq.Error{Code: code})
			}
			return nil
		}))
		same(t, "runs", runs, 3)
	}
	q.at(noon, func(tx *store.Tx) {
		same(t, "what is stored", seqs(must(tx.Entries(ctx, q.a.ID))(t)), []int64{1, 2, 3})
	})
}

func retryingEnds(t *testing.T, q squad) {
	runs, failure := 0, &pq.Error{Code: "40001"}
	err := q.s.Do(ctx, noon, func(*store.Tx) error { runs++; return failure })
	is(t, "the error", err, failure)
	if runs < 3 || runs > 10 {
		t.Errorf("it ran %d times", runs)
	}
}

func retryingStopsWithItsContext(t *testing.T, q squad) {
	limited, cancel := context.WithCancel(ctx)
	defer cancel()
	runs := 0
	err := q.s.Do(limited, noon, func(*store.Tx) error {
		runs++
		cancel()
		return &pq.Error{Code: "40001"}
	})
	is(t, "the error", err, context.Canceled)
	same(t, "runs", runs, 1)
}

func panicRollsBack(t *testing.T, q squad) {
	func() {
		defer func() { same(t, "the panic", recover(), "a fault in a command") }()
		_ = q.try(q.s, noon, func(tx *store.Tx) error {
			must(tx.Claim(ctx, "e1"))(t)
			panic("a fault in a command")
		})
	}()
	// On SQLite this would wait for ever for the only connection, had it not been given back.
	same(t, "claimed", must(q.s.Claimed(ctx, "e1"))(t), false)
}

func cancelledWorkLeavesNothing(t *testing.T, q squad) {
	limited, cancel := context.WithCancel(ctx)
	err := q.s.Do(limited, noon, func(tx *store.Tx) error {
		must(tx.Claim(ctx, "e1"))(t)
		cancel()
		return nil
	})
	if err == nil {
		t.Error("work whose context ended was committed without a word")
	}
	same(t, "claimed", must(q.s.Claimed(ctx, "e1"))(t), false)
	q.at(noon, func(tx *store.Tx) { same(t, "the next claim", must(tx.Claim(ctx, "e1"))(t), true) })
}
