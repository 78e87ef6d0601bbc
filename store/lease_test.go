package store_test

import (
	"context"
	"fmt"
	"slices"
	"testing"
	"time"

	"footing/store"
	"footing/store/storetest"
)

const moment = time.Microsecond

func TestLeases(t *testing.T) {
	share(t, cases{
		"Lease keeps others out until it runs out":          leaseKeepsOthersOutUntilItRunsOut,
		"Alert opens a place that is kept shut":             alertOpensAPlace,
		"Process that lost its lease changes nothing":       processThatLostItsLeaseChangesNothing,
		"Fence belongs to its destination":                  fenceBelongsToItsDestination,
		"Lease nobody took still marks":                     leaseNobodyTookStillMarks,
		"Release gives back at once":                        releaseGivesBackAtOnce,
		"Last of a batch gives back":                        lastOfABatchGivesBack,
		"Failure holds everyone off":                        failureHoldsEveryoneOff,
		"Taken over, it may have been sent":                 takenOverMayHaveBeenSent,
		"Reply waits for what is before it":                 replyWaitsForWhatIsBeforeIt,
		"Reply is held by the process that wrote it":        replyIsHeldByTheProcessThatWroteIt,
		"Release all frees only where one process is alone": releaseAllFreesOnlyWhereOneProcessIsAlone,
		"Processes claim different destinations":            processesClaimDifferentDestinations,
	})
}

func leaseKeepsOthersOutUntilItRunsOut(t *testing.T, q squad) {
	enqueue(q, "staff", "k1")
	first := claim(q, noon, "A")
	enqueue(q, "staff", "k2") // a later message does not open a held destination
	for _, process := range []string{"B", "A"} {
		same(t, "while it is held", claim(q, noon.Add(store.LeaseTime-moment), process), store.Batch{})
	}
	second := claim(q, noon.Add(store.LeaseTime), "B")
	same(t, "once the lease ran out", keys(second), []string{"k1", "k2"})
	same(t, "the destination", second.Destination, first.Destination)
	if second.Fence <= first.Fence {
		t.Errorf("the fence went from %d to %d", first.Fence, second.Fence)
	}
}

// A process that was stopped for a while comes back and believes it still holds the destination.
func processThatLostItsLeaseChangesNothing(t *testing.T, q squad) {
	o := enqueue(q, "staff", "k1")
	old := claim(q, noon, "A")
	later := noon.Add(store.LeaseTime)
	held := claim(q, later, "B")
	stale := old.Messages[0]
	is(t, "marking", q.s.Sent(ctx, later, stale, "id-A", true), store.ErrLeaseLost)
	is(t, "putting back", q.s.Failed(ctx, later, stale, "send", later.Add(time.Hour)), store.ErrLeaseLost)
	is(t, "giving up", q.s.Dead(ctx, later, stale, "gone", true, true), store.ErrLeaseLost)
	same(t, "the text", bodiesLeft(q), []string{o.Body})
	ok(t, q.s.Release(ctx, old.Lease))
	same(t, "after its release", claim(q, later, "C"), store.Batch{})
	ok(t, q.s.Sent(ctx, later, held.Messages[0], "id-B", true))
	same(t, "the row", rows(t, q.db, `SELECT sent_id, attempts, last_error, dead_at FROM outbox`), []string{"id-B|1||null"})
}

// Another place's fence of the same number is not this place's.
func fenceBelongsToItsDestination(t *testing.T, q squad) {
	enqueue(q, "staff", "k1")
	enqueue(q, "medical", "k2")
	staff, medical := claim(q, noon, "A"), claim(q, noon, "A")
	held := claim(q, noon.Add(store.LeaseTime), "B")
	same(t, "taken over", held.Destination, staff.Destination)
	same(t, "the fence of the other place", medical.Fence, staff.Fence)
	o := held.Messages[0]
	o.Lease.Fence = medical.Fence
	is(t, "marking by it", q.s.Sent(ctx, noon, o, "id", true), store.ErrLeaseLost)
}

// Sending may take longer than the lease; when nobody took over, the mark still counts.
func leaseNobodyTookStillMarks(t *testing.T, q squad) {
	enqueue(q, "staff", "k1")
	b := claim(q, noon, "A")
	ok(t, q.s.Sent(ctx, noon.Add(2*store.LeaseTime), b.Messages[0], "id-1", true))
}

func releaseGivesBackAtOnce(t *testing.T, q squad) {
	enqueue(q, "staff", "k1")
	b := claim(q, noon, "A")
	ok(t, q.s.Release(ctx, b.Lease))
	is(t, "marking after it", q.s.Sent(ctx, noon, b.Messages[0], "id", true), store.ErrLeaseLost)
	b = claim(q, noon, "B")
	same(t, "for another", keys(b), []string{"k1"})
	same(t, "what was given back was not tried", b.Messages[0].Tried, time.Time{})
}

// After the last of a batch the destination is free; before, it is not.
func lastOfABatchGivesBack(t *testing.T, q squad) {
	enqueue(q, "staff", "k1")
	enqueue(q, "staff", "k2")
	b := claim(q, noon, "A")
	enqueue(q, "staff", "k3")
	ok(t, q.s.Sent(ctx, noon, b.Messages[0], "id-1", false))
	same(t, "in its middle", claim(q, noon, "B"), store.Batch{})
	ok(t, q.s.Sent(ctx, noon, b.Messages[1], "id-2", true))
	same(t, "after it", keys(claim(q, noon, "B")), []string{"k3"})
}

func failureHoldsEveryoneOff(t *testing.T, q squad) {
	enqueue(q, "staff", "k1")
	enqueue(q, "staff", "k2")
	b := claim(q, noon, "A")
	until := noon.Add(3 * store.LeaseTime)
	ok(t, q.s.Failed(ctx, noon, b.Messages[0], "send", until))
	ok(t, q.s.ReleaseAll(ctx, noon)) // that is no lease: a restart does not end it
	for _, process := range []string{"A", "B"} {
		same(t, "before its end", claim(q, until.Add(-moment), process), store.Batch{})
	}
	same(t, "at its end", keys(claim(q, until, "B")), []string{"k1", "k2"})
	is(t, "a stale failure", q.s.Failed(ctx, noon, b.Messages[0], "send", until.Add(time.Hour)), store.ErrLeaseLost)
	same(t, "after it", keys(claim(q, until.Add(store.LeaseTime), "C")), []string{"k1", "k2"})
}

// Nobody is let to a place where something failed until it is tried again, but for an alert, which leaves alone.
func alertOpensAPlace(t *testing.T, q squad) {
	enqueue(q, "medical", "k1")
	enqueue(q, "medical", "k2")
	b := claim(q, noon, "A")
	ok(t, q.s.Failed(ctx, noon, b.Messages[0], "send", noon.Add(5*time.Minute)))
	enqueue(q, "medical", "k3")
	same(t, "without an alert", claim(q, noon.Add(time.Second), "A"), store.Batch{})
	q.at(noon.Add(time.Second), func(tx *store.Tx) {
		_, err := tx.Enqueue(ctx, store.Outgoing{Team: q.team.ID, TeamKey: q.team.Key, Destination: "medical", Kind: "alert", Key: "hurt", Body: "x", Due: noon.Add(time.Second)})
		ok(t, err)
	})
	got := claim(q, noon.Add(time.Second), "A")
	if len(got.Messages) == 0 || got.Messages[0].Key != "hurt" || slices.Contains(keys(got), "k1") || slices.Contains(keys(got), "k2") {
		t.Errorf("claimed: %q", keys(got))
	}
}

// What a process held when it died may have been sent; what was written later cannot have been.
func takenOverMayHaveBeenSent(t *testing.T, q squad) {
	enqueue(q, "staff", "k1")
	claim(q, noon, "A")
	b := claim(q, noon.Add(store.LeaseTime), "B")
	if o := b.Messages[0]; !o.Tried.Equal(noon) {
		t.Errorf("taken over, it counts as first tried at %v, not %v", o.Tried, noon)
	}
	ok(t, q.s.Release(ctx, b.Lease))
	enqueue(q, "staff", "k2")
	b = claim(q, noon.Add(store.LeaseTime), "C")
	if first, second := b.Messages[0].Tried, b.Messages[1].Tried; first.IsZero() || !second.IsZero() {
		t.Errorf("tried at %v and %v", first, second)
	}
}

func replyIsHeldByTheProcessThatWroteIt(t *testing.T, q squad) {
	reply := store.Outgoing{Team: q.team.ID, Destination: "medical", Kind: "reply", Key: "r1", Body: "done", Due: noon, LeaseBy: "A"}
	second := reply
	second.Key = "r2"
	q.at(noon, func(tx *store.Tx) {
		reply, second = must(tx.Enqueue(ctx, reply))(t), must(tx.Enqueue(ctx, second))(t)
	})
	same(t, "its second part's lease", second.Lease, reply.Lease)
	if reply.Lease.Fence == 0 || !reply.Lease.Until.Equal(noon.Add(store.LeaseTime).Truncate(time.Microsecond)) {
		t.Errorf("the lease is %v", reply.Lease)
	}
	enqueue(q, "medical", "k1")
	for _, process := range []string{"B", "A"} { // A says it straight after the commit, not by claiming
		same(t, "while it is held", claim(q, noon.Add(store.LeaseTime-moment), process), store.Batch{})
	}
	b := claim(q, noon.Add(store.LeaseTime), "B")
	same(t, "once the lease ran out", keys(b), []string{"r1", "r2", "k1"})
	is(t, "marking it then", q.s.Sent(ctx, noon.Add(store.LeaseTime), reply, "id-1", false), store.ErrLeaseLost)
	ok(t, q.s.Sent(ctx, noon.Add(store.LeaseTime), b.Messages[0], "id-2", false))
}

// A reply is only sent straight away when nothing waits before it and nobody sends there.
func replyWaitsForWhatIsBeforeIt(t *testing.T, q squad) {
	put := func(to, key string) (o store.Outgoing) {
		q.at(noon, func(tx *store.Tx) {
			o = must(tx.Enqueue(ctx, store.Outgoing{Team: q.team.ID, Destination: to, Kind: "reply", Key: key, Body: "x", Due: noon, LeaseBy: "A"}))(t)
		})
		return o
	}
	enqueue(q, "staff", "k1")
	same(t, "behind another", put("staff", "r1").Lease, store.Lease{})
	first := put("medical", "r2")
	same(t, "where one is being sent", put("medical", "r3").Lease, store.Lease{})
	ok(t, q.s.Sent(ctx, noon, first, "id", true))
	same(t, "behind that", put("medical", "r4").Lease, store.Lease{})
	same(t, "the place of the oldest reply", keys(claim(q, noon, "B")), []string{"k1", "r1"})
	same(t, "the other", keys(claim(q, noon, "B")), []string{"r3", "r4"})
}

// A process that starts alone on a SQLite file knows that whoever held leases is gone. On PostgreSQL
// the others may be alive.
func releaseAllFreesOnlyWhereOneProcessIsAlone(t *testing.T, q squad) {
	reply := store.Outgoing{Destination: "medical", Kind: "reply", Key: "r1", Body: "done", Due: noon, LeaseBy: "A"}
	q.at(noon, func(tx *store.Tx) { must(tx.Enqueue(ctx, reply))(t) })
	enqueue(q, "staff", "k1")
	claim(q, noon, "A")
	ok(t, q.s.ReleaseAll(ctx, noon))
	got := []store.Batch{claim(q, noon, "B"), claim(q, noon, "B")}
	want := [][]string{{}, {}}
	if q.s.Engine() == "sqlite" {
		want = [][]string{{"r1"}, {"k1"}}
		same(t, "the reply may have been sent at", got[0].Messages[0].Tried.Equal(noon), true)
	}
	same(t, "what another gets", [][]string{keys(got[0]), keys(got[1])}, want)
}

func processesClaimDifferentDestinations(t *testing.T, q squad) {
	const processes = 4
	for i := range processes {
		enqueue(q, fmt.Sprint("place", i), fmt.Sprint("k", i))
	}
	batches, failed := make(chan store.Batch, processes), make(chan error, processes)
	for i := range processes {
		s := storetest.Open(t, q.config)
		go func() {
			b, err := s.ClaimDue(ctx, noon, fmt.Sprint("process", i), len(store.Kinds)-1)
			batches <- b
			failed <- err
		}()
	}
	claimed := map[int64]bool{}
	for range processes {
		ok(t, <-failed)
		b := <-batches
		if len(b.Messages) != 1 || claimed[b.Destination] {
			t.Errorf("destination %d was claimed twice or is empty: %v", b.Destination, keys(b))
		}
		claimed[b.Destination] = true
	}
}

// While one process is in the middle of claiming a destination, others take the next one: they do
// not wait for it, and they never claim it a second time.
func claimPassesOverWhatIsBeingClaimed(t *testing.T, q squad) {
	enqueue(q, "staff", "k1")
	enqueue(q, "medical", "k2")
	limited, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	claiming := must(q.db.BeginTx(limited, nil))(t)
	must(claiming.Exec(`UPDATE destinations SET lease_by = 'A', lease_until = $1, fence = fence + 1 WHERE key = 'staff'`, noon.Add(store.LeaseTime)))(t)
	for _, want := range [][]string{{"k2"}, {}} {
		same(t, "claimed meanwhile", keys(must(q.s.ClaimDue(limited, noon, "B", len(store.Kinds)-1))(t)), want)
	}
	ok(t, claiming.Commit())
	same(t, "claimed afterwards", keys(claim(q, noon, "B")), []string{})
}
