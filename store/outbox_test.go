package store_test

import (
	"fmt"
	"testing"
	"time"

	"footing/store"
)

// enqueue writes one report due at noon to a place.
func enqueue(q squad, to, key string) (o store.Outgoing) {
	q.t.Helper()
	o = store.Outgoing{Team: q.team.ID, TeamKey: q.team.Key, Destination: to, Kind: "report", Key: key, Body: "text of " + key, Due: noon}
	q.at(noon, func(tx *store.Tx) { o = must(tx.Enqueue(ctx, o))(q.t) })
	if o.ID == 0 {
		q.t.Errorf("%s was not stored", key)
	}
	return o
}

func claim(q squad, now time.Time, process string) store.Batch {
	q.t.Helper()
	return must(q.s.ClaimDue(ctx, now, process, len(store.Kinds)-1))(q.t)
}

// keys lists what a batch would send, in its order.
func keys(b store.Batch) []string {
	out := []string{}
	for _, o := range b.Messages {
		out = append(out, o.Key)
	}
	return out
}

// bodiesLeft lists the texts the database still holds.
func bodiesLeft(q squad) []string {
	q.t.Helper()
	return rows(q.t, q.db, `SELECT body FROM outbox_bodies ORDER BY outbox_id`)
}

func TestOutbox(t *testing.T) {
	share(t, cases{
		"Batch carries all that sending needs":          batchCarriesAllThatSendingNeeds,
		"Message of a failed transaction is never said": messageOfAFailedTransactionIsNeverSaid,
		"Key is said once for good":                     keyIsSaidOnceForGood,
		"Destination is drained in order":               destinationIsDrainedInOrder,
		"Sent clears the text":                          sentClearsTheText,
		"Failed message waits until it is due again":    failedMessageWaitsUntilItIsDueAgain,
		"Dead message is given up":                      deadMessageIsGivenUp,
		"Places of two teams are claimed apart":         placesOfTwoTeamsAreClaimedApart,
		"Waiting is counted by kind":                    waitingIsCountedByKind,
		"What is due at a place is known":               whatIsDueAtAPlaceIsKnown,
	})
}

func batchCarriesAllThatSendingNeeds(t *testing.T, q squad) {
	want := store.Outgoing{Team: q.team.ID, TeamKey: q.team.Key, Destination: "staff", Kind: "report", Key: "k1", Body: "māori\n😀", Expires: noon.Add(time.Hour)}
	stored := want
	stored.Due = noon.Add(time.Minute)
	q.at(noon, func(tx *store.Tx) { want.ID = must(tx.Enqueue(ctx, stored))(t).ID })
	later := store.Outgoing{Destination: "staff", Kind: "report", Key: "k2", Body: "x", Due: noon.Add(time.Minute + time.Microsecond)}
	q.at(noon, func(tx *store.Tx) { must(tx.Enqueue(ctx, later))(t) })
	same(t, "before it is due", claim(q, noon.Add(time.Minute-time.Microsecond), "A"), store.Batch{})
	b := claim(q, noon.Add(time.Minute), "A")
	want.Due, want.Written, want.Lease = stored.Due, stored.Due, b.Lease
	same(t, "the messages", b.Messages, []store.Outgoing{want})
	if b.Destination == 0 || b.Fence == 0 || !b.Until.Equal(noon.Add(time.Minute+store.LeaseTime)) {
		t.Errorf("a claimed batch has the lease %v", b.Lease)
	}
}

func messageOfAFailedTransactionIsNeverSaid(t *testing.T, q squad) {
	is(t, "the failed work", q.try(q.s, noon, func(tx *store.Tx) error {
		must(tx.Enqueue(ctx, store.Outgoing{Destination: "staff", Kind: "report", Key: "k1", Body: "x", Due: noon}))(t)
		return errAny
	}), errAny)
	same(t, "what is due", claim(q, noon, "A"), store.Batch{})
	enqueue(q, "staff", "k1") // its key is free
}

func keyIsSaidOnceForGood(t *testing.T, q squad) {
	enqueue(q, "staff", "k1")
	enqueue(q, "staff", "k2")
	again := func(when string) {
		q.at(noon, func(tx *store.Tx) {
			for _, key := range []string{"k1", "k2"} {
				id := must(tx.Enqueue(ctx, store.Outgoing{Destination: "staff", Kind: "report", Key: key, Body: "second", Due: noon}))(t)
				same(t, key+" "+when, id.ID, int64(0))
			}
		})
	}
	again("while it waits")
	b := claim(q, noon, "A")
	same(t, "the text", b.Messages[0].Body, "text of k1")
	ok(t, q.s.Sent(ctx, noon, b.Messages[0], "id-1", false))
	ok(t, q.s.Dead(ctx, noon, b.Messages[1], "gone", false, true))
	again("once it is done")
	same(t, "texts left", bodiesLeft(q), []string{})
	same(t, "what is due", keys(claim(q, noon.Add(24*time.Hour), "A")), []string{})
}

func destinationIsDrainedInOrder(t *testing.T, q squad) {
	var want []string
	for i := range 12 {
		enqueue(q, "staff", fmt.Sprint("k", 12-i)) // the keys sort against the order
		enqueue(q, "medical", fmt.Sprint("other", i))
		want = append(want, fmt.Sprint("k", 12-i))
	}
	b := claim(q, noon, "A")
	same(t, "the batch", keys(b), want)
	// One is put back: nothing behind it goes before it, nor what is written meanwhile.
	ok(t, q.s.Sent(ctx, noon, b.Messages[0], "id-1", false))
	ok(t, q.s.Failed(ctx, noon, b.Messages[1], "send", noon.Add(time.Second)))
	same(t, "the other place", len(claim(q, noon, "A").Messages), 12)
	reply := store.Outgoing{Destination: "staff", Kind: "reply", Key: "reply", Body: "x", Due: noon, LeaseBy: "A"}
	q.at(noon, func(tx *store.Tx) { same(t, "a reply's lease", must(tx.Enqueue(ctx, reply))(t).Lease, store.Lease{}) })
	same(t, "before it is due again", claim(q, noon.Add(time.Second-moment), "A"), store.Batch{})
	b = claim(q, noon.Add(time.Second), "A")
	same(t, "the next batch", keys(b), append(want[1:], "reply"))
	same(t, "attempts", b.Messages[0].Attempts, 1)
}

func sentClearsTheText(t *testing.T, q squad) {
	enqueue(q, "staff", "k1")
	other := enqueue(q, "staff", "k2")
	o := claim(q, noon, "A").Messages[0]
	ok(t, q.s.Sent(ctx, noon.Add(time.Second), o, "id-1", false))
	same(t, "texts left", bodiesLeft(q), []string{other.Body})
	row := `SELECT sent_at, sent_id, attempts FROM outbox WHERE dedupe_key = 'k1'`
	want := []string{text(noon.Add(time.Second)) + "|id-1|1"}
	same(t, "the row", rows(t, q.db, row), want)
	// What was sent stays sent, whatever is said later.
	is(t, "marking it again", q.s.Sent(ctx, noon.Add(time.Hour), o, "id-2", true), store.ErrLeaseLost)
	is(t, "putting it back", q.s.Failed(ctx, noon.Add(time.Hour), o, "send", noon.Add(time.Hour)), store.ErrLeaseLost)
	is(t, "giving it up", q.s.Dead(ctx, noon.Add(time.Hour), o, "gone", false, true), store.ErrLeaseLost)
	same(t, "the row", rows(t, q.db, row+` AND dead_at IS NULL AND last_error = ''`), want)
}

func failedMessageWaitsUntilItIsDueAgain(t *testing.T, q squad) {
	enqueue(q, "staff", "k1")
	for i := range 3 {
		now := noon.Add(time.Duration(i) * time.Minute)
		b := claim(q, now, "A")
		same(t, "what is due", keys(b), []string{"k1"})
		same(t, "attempts", b.Messages[0].Attempts, i)
		if first := b.Messages[0].Tried; (i == 0) != first.IsZero() || i > 0 && !first.Equal(noon) {
			t.Errorf("at attempt %d it was first tried at %v", i, first)
		}
		ok(t, q.s.Failed(ctx, now, b.Messages[0], "forbidden", now.Add(time.Minute)))
		same(t, "too early", claim(q, now.Add(time.Minute-time.Microsecond), "A"), store.Batch{})
	}
	same(t, "the error kept", rows(t, q.db, `SELECT attempts, last_error FROM outbox`), []string{"3|forbidden"})
}

func deadMessageIsGivenUp(t *testing.T, q squad) {
	enqueue(q, "staff", "k1")
	b := claim(q, noon, "A")
	ok(t, q.s.Dead(ctx, noon.Add(time.Second), b.Messages[0], "expired", false, true))
	same(t, "what is due", claim(q, noon.Add(time.Hour), "A"), store.Batch{})
	same(t, "texts left", bodiesLeft(q), []string{})
	same(t, "the row", rows(t, q.db, `SELECT dead_at, last_error, sent_at FROM outbox`), []string{text(noon.Add(time.Second)) + "|expired|null"})
}

// A place is one team's: the same name in two teams is two places.
func placesOfTwoTeamsAreClaimedApart(t *testing.T, q squad) {
	bats := q.found(t, "bats")
	enqueue(bats, "staff", "b1")
	enqueue(q, "staff", "k1")
	enqueue(bats, "staff", "b2")
	first, second := claim(q, noon, "A"), claim(q, noon, "A")
	same(t, "the first", keys(first), []string{"b1", "b2"})
	same(t, "whose", first.Messages[0].TeamKey, "bats")
	same(t, "the second", keys(second), []string{"k1"})
	same(t, "whose", second.Messages[0].TeamKey, "otters")
}

func waitingIsCountedByKind(t *testing.T, q squad) {
	want := store.Waiting{Count: map[string]int{"alert": 0, "reply": 0, "notice": 0, "report": 0, "reminder": 0}}
	same(t, "of nothing", must(q.s.Waiting(ctx, noon))(t), want)
	a := enqueue(q, "staff", "k1")
	enqueue(q, "staff", "k2")
	q.at(noon, func(tx *store.Tx) {
		for _, kind := range []string{"alert", "ask"} { // an ask is as urgent as a notice
			must(tx.Enqueue(ctx, store.Outgoing{Destination: "medical", Kind: kind, Key: kind, Body: "x", Due: noon.Add(time.Hour)}))(t)
		}
	})
	want.Count["report"], want.Count["alert"], want.Count["notice"], want.Oldest = 2, 1, 1, 7*time.Minute
	same(t, "after seven minutes", must(q.s.Waiting(ctx, noon.Add(7*time.Minute)))(t), want)
	b := claim(q, noon, "A")
	a.Lease = b.Lease
	ok(t, q.s.Sent(ctx, noon, a, "1", false))
	want.Count["report"], want.Oldest = 1, 0
	same(t, "before anything is due", must(q.s.Waiting(ctx, noon.Add(-time.Minute)))(t), want)
}

func whatIsDueAtAPlaceIsKnown(t *testing.T, q squad) {
	enqueue(q, "staff", "k1")
	b := claim(q, noon, "p1")
	dest := b.Lease.Destination
	waits := func(now time.Time) bool { return must(q.s.Waits(ctx, now, dest))(t) }
	same(t, "before it is due", waits(noon.Add(-time.Second)), false)
	same(t, "when it is due", waits(noon), true)
	ok(t, q.s.Sent(ctx, noon, b.Messages[0], "1", true))
	same(t, "when it was sent", waits(noon), false)
	enqueue(q, "medical", "k2")
	same(t, "while something waits elsewhere", waits(noon), false)
}
