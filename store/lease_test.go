package store_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"footing/store"
	"footing/store/storetest"
)

const moment = time.Microsecond

func TestLeases(t *testing.T) {
	share(t, cases{
		"Lease keeps others out until it runs out":          leaseKeepsOthersOutUntilItRunsOut,
		"Process that lost its lease cannot mark":           processThatLostItsLeaseCannotMark,
		"Fence belongs to its destination":                  fenceBelongsToItsDestination,
		"Lease nobody took still marks":                     leaseNobodyTookStillMarks,
		"Release gives back at once":                        releaseGivesBackAtOnce,
		"Pause holds everyone off":                          pauseHoldsEveryoneOff,
		"Reply is held by the process that wrote it":        replyIsHeldByTheProcessThatWroteIt,
		"Reply that fails is anyones":                       replyThatFailsIsAnyones,
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
func processThatLostItsLeaseCannotMark(t *testing.T, q squad) {
	o := enqueue(q, "staff", "k1")
	old := claim(q, noon, "A")
	later := noon.Add(store.LeaseTime)
	held := claim(q, later, "B")
	is(t, "marking", q.s.Sent(ctx, later, o, old.Fence, "id-A"), store.ErrLeaseLost)
	same(t, "the text", bodiesLeft(q), []string{o.Body})
	ok(t, q.s.Release(ctx, old))
	same(t, "after its release", claim(q, later, "C"), store.Batch{})
	ok(t, q.s.Sent(ctx, later, o, held.Fence, "id-B"))
	same(t, "the row", rows(t, q.db, `SELECT sent_id FROM outbox`), []string{"id-B"})
}

// Another place's fence of the same number is not this place's.
func fenceBelongsToItsDestination(t *testing.T, q squad) {
	o := enqueue(q, "staff", "k1")
	enqueue(q, "medical", "k2")
	staff, medical := claim(q, noon, "A"), claim(q, noon, "A")
	held := claim(q, noon.Add(store.LeaseTime), "B")
	same(t, "taken over", held.Destination, staff.Destination)
	same(t, "the fence of the other place", medical.Fence, staff.Fence)
	is(t, "marking by it", q.s.Sent(ctx, noon, o, medical.Fence, "id"), store.ErrLeaseLost)
}

// Sending may take longer than the lease; when nobody took over, the mark still counts.
func leaseNobodyTookStillMarks(t *testing.T, q squad) {
	o := enqueue(q, "staff", "k1")
	b := claim(q, noon, "A")
	ok(t, q.s.Sent(ctx, noon.Add(2*store.LeaseTime), o, b.Fence, "id-1"))
}

func releaseGivesBackAtOnce(t *testing.T, q squad) {
	enqueue(q, "staff", "k1")
	b := claim(q, noon, "A")
	ok(t, q.s.Release(ctx, b))
	same(t, "for another", keys(claim(q, noon, "B")), []string{"k1"})
}

func pauseHoldsEveryoneOff(t *testing.T, q squad) {
	enqueue(q, "staff", "k1")
	b := claim(q, noon, "A")
	until := noon.Add(3 * store.LeaseTime)
	ok(t, q.s.Pause(ctx, b, until))
	ok(t, q.s.ReleaseAll(ctx, noon)) // a pause is no lease: a restart does not end it
	for _, process := range []string{"A", "B"} {
		same(t, "before its end", claim(q, until.Add(-moment), process), store.Batch{})
	}
	same(t, "at its end", keys(claim(q, until, "B")), []string{"k1"})
	ok(t, q.s.Pause(ctx, b, until.Add(time.Hour))) // A no longer holds it
	same(t, "after a stale pause", keys(claim(q, until.Add(store.LeaseTime), "C")), []string{"k1"})
}

func replyIsHeldByTheProcessThatWroteIt(t *testing.T, q squad) {
	reply := store.Outgoing{Team: q.team.ID, Destination: "medical", Kind: "reply", Key: "r1", Body: "done", Due: noon, LeaseBy: "A"}
	q.at(noon, func(tx *store.Tx) { reply.ID = must(tx.Enqueue(ctx, reply))(t) })
	for _, process := range []string{"B", "A"} { // A says it straight after the commit, not by claiming
		same(t, "while it is held", claim(q, noon.Add(store.LeaseTime-moment), process), store.Batch{})
	}
	enqueue(q, "medical", "k1")
	b := claim(q, noon, "B")
	same(t, "what else is for that place", keys(b), []string{"k1"})
	ok(t, q.s.Release(ctx, b))
	same(t, "once the lease ran out", keys(claim(q, noon.Add(store.LeaseTime), "B")), []string{"r1", "k1"})
	ok(t, q.s.Sent(ctx, noon.Add(store.LeaseTime), reply, 0, "id-1"))
	same(t, "texts left", bodiesLeft(q), []string{"text of k1"})
}

func replyThatFailsIsAnyones(t *testing.T, q squad) {
	reply := store.Outgoing{Team: q.team.ID, Destination: "medical", Kind: "reply", Key: "r1", Body: "done", Due: noon, LeaseBy: "A"}
	q.at(noon, func(tx *store.Tx) { reply.ID = must(tx.Enqueue(ctx, reply))(t) })
	ok(t, q.s.Failed(ctx, noon, reply, "send", noon.Add(2*time.Second)))
	same(t, "too early", claim(q, noon.Add(2*time.Second-moment), "B"), store.Batch{})
	same(t, "when due", keys(claim(q, noon.Add(2*time.Second), "B")), []string{"r1"})
}

// A process that starts alone on a SQLite file knows that whoever held leases is gone. On PostgreSQL
// the others may be alive.
func releaseAllFreesOnlyWhereOneProcessIsAlone(t *testing.T, q squad) {
	reply := store.Outgoing{Destination: "medical", Kind: "reply", Key: "r1", Body: "done", Due: noon, LeaseBy: "A"}
	q.at(noon, func(tx *store.Tx) { must(tx.Enqueue(ctx, reply))(t) })
	enqueue(q, "staff", "k1")
	claim(q, noon, "A")
	ok(t, q.s.ReleaseAll(ctx, noon))
	got := [][]string{keys(claim(q, noon, "B")), keys(claim(q, noon, "B"))}
	want := [][]string{{}, {}}
	if q.s.Engine() == "sqlite" {
		want = [][]string{{"r1"}, {"k1"}}
	}
	same(t, "what another gets", got, want)
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
			b, err := s.ClaimDue(ctx, noon, fmt.Sprint("process", i))
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
		same(t, "claimed meanwhile", keys(must(q.s.ClaimDue(limited, noon, "B"))(t)), want)
	}
	ok(t, claiming.Commit())
	same(t, "claimed afterwards", keys(claim(q, noon, "B")), []string{})
}
