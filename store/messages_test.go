package store_test

import (
	"errors"
	"testing"
	"time"

	"footing/rehab"
	"footing/store"
	"footing/store/storetest"
)

var errAny = errors.New("any error")

func TestMessages(t *testing.T) {
	share(t, cases{
		"Event is claimed once":               eventIsClaimedOnce,
		"Claim waits for an open claim":       claimWaitsForAnOpenClaim,
		"Rollback frees a claim":              rollbackFreesAClaim,
		"Message is known as first seen":      messageIsKnownAsFirstSeen,
		"Deletion may be told first":          deletionMayBeToldFirst,
		"Stale edit loses":                    staleEditLoses,
		"Flag and settle":                     flagAndSettle,
		"Message needs an author of the team": messageNeedsAnAuthorOfTheTeam,
		"Flagged counts what is undecided":    flaggedCountsWhatIsUndecided,
	})
}

func eventIsClaimedOnce(t *testing.T, q squad) {
	q.at(noon, func(tx *store.Tx) {
		same(t, "the first claim", must(tx.Claim(ctx, "e1"))(t), true)
		same(t, "a second in the same transaction", must(tx.Claim(ctx, "e1"))(t), false)
		same(t, "another event", must(tx.Claim(ctx, "e2"))(t), true)
	})
	q.at(noon.Add(time.Hour), func(tx *store.Tx) {
		same(t, "a claim in a later one", must(tx.Claim(ctx, "e1"))(t), false)
	})
	same(t, "Claimed", must(q.s.Claimed(ctx, "e1"))(t), true)
	same(t, "Claimed of an unknown event", must(q.s.Claimed(ctx, "e3"))(t), false)
}

func rollbackFreesAClaim(t *testing.T, q squad) {
	err := q.try(q.s, noon, func(tx *store.Tx) error {
		same(t, "the claim", must(tx.Claim(ctx, "e1"))(t), true)
		return errAny
	})
	is(t, "the failed work", err, errAny)
	same(t, "Claimed", must(q.s.Claimed(ctx, "e1"))(t), false)
	q.at(noon, func(tx *store.Tx) { same(t, "the claim", must(tx.Claim(ctx, "e1"))(t), true) })
}

// Two processes get one event. The second waits to see how the first ends, and gets the event only
// if that failed.
func claimWaitsForAnOpenClaim(t *testing.T, q squad) {
	other := storetest.Open(t, q.config)
	for event, first := range map[string]error{"the first commits": nil, "the first fails": errAny} {
		got, failed := false, make(chan error, 1)
		err := q.try(q.s, noon, func(tx *store.Tx) error {
			must(tx.Claim(ctx, event))(t)
			go func() {
				failed <- q.try(other, noon, func(tx *store.Tx) (err error) {
					got, err = tx.Claim(ctx, event)
					return err
				})
			}()
			return first
		})
		is(t, event, err, first)
		ok(t, <-failed)
		same(t, event+": the second gets it", got, first != nil)
	}
}

func messageIsKnownAsFirstSeen(t *testing.T, q squad) {
	want := store.Message{Key: "m1", Author: q.physio.ID, Place: "medical", Sent: noon.Add(-time.Second), Lines: 3}
	q.at(noon, func(tx *store.Tx) {
		_, err := tx.Message(ctx, "m1")
		is(t, "a message never seen", err, store.ErrNotFound)
		ok(t, tx.PutMessage(ctx, want))
		ok(t, tx.PutMessage(ctx, store.Message{Key: "m1", Author: q.physio.ID, Place: "staff", Sent: noon}))
		same(t, "the message", must(tx.Message(ctx, "m1"))(t), want)
		empty := store.Message{Key: "m2", Author: q.physio.ID, Place: "medical", Sent: noon}
		ok(t, tx.PutMessage(ctx, empty))
		ok(t, tx.PutMessage(ctx, store.Message{Key: "m2", Author: q.physio.ID, Place: "staff", Sent: noon, Lines: 5}))
		same(t, "the message that was empty", must(tx.Message(ctx, "m2"))(t), empty)
	})
}

// Chat systems deliver out of order: the delete of a message may come before the message.
func deletionMayBeToldFirst(t *testing.T, q squad) {
	want := store.Message{Key: "m1", Author: q.physio.ID, Place: "medical", Sent: noon, Deleted: noon, Lines: 2}
	q.at(noon, func(tx *store.Tx) {
		someone := must(tx.Member(ctx, "moderator", nil))(t)
		ok(t, tx.PutMessage(ctx, store.Message{Key: "m1", Author: someone.ID, Place: "staff", Sent: noon}))
		ok(t, tx.Flag(ctx, "m1"))
		ok(t, tx.PutMessage(ctx, store.Message{Key: "m1", Author: q.physio.ID, Place: "medical", Sent: noon, Lines: 2}))
		same(t, "the message", must(tx.Message(ctx, "m1"))(t), want)
		ok(t, tx.PutMessage(ctx, store.Message{Key: "m1", Author: someone.ID, Place: "staff", Sent: noon, Lines: 9}))
		same(t, "the message, read already", must(tx.Message(ctx, "m1"))(t), want)
	})
}

func staleEditLoses(t *testing.T, q squad) {
	q.at(noon, func(tx *store.Tx) {
		ok(t, tx.PutMessage(ctx, store.Message{Key: "m1", Author: q.physio.ID, Place: "medical", Sent: noon}))
		for _, c := range []struct {
			what   string
			edited time.Time
			wins   bool
		}{
			{"the first edit", noon.Add(time.Second), true},
			{"the same edit again", noon.Add(time.Second), false},
			{"an earlier edit", noon.Add(time.Second - time.Microsecond), false},
			{"a later edit", noon.Add(time.Second + time.Microsecond), true},
			{"the first again", noon.Add(time.Second), false},
		} {
			same(t, c.what+" wins", must(tx.Revise(ctx, "m1", c.edited))(t), c.wins)
		}
		same(t, "edited", must(tx.Message(ctx, "m1"))(t).Edited, noon.Add(time.Second+time.Microsecond))
		same(t, "an edit of a message never seen", must(tx.Revise(ctx, "m2", noon))(t), false)
	})
}

func flagAndSettle(t *testing.T, q squad) {
	settled := func() []string { return rows(t, q.db, `SELECT key, settled_at FROM messages ORDER BY key`) }
	q.at(noon, func(tx *store.Tx) {
		for _, key := range []string{"m1", "m2"} {
			ok(t, tx.PutMessage(ctx, store.Message{Key: key, Author: q.physio.ID, Place: "medical", Sent: noon}))
		}
		ok(t, tx.Append(ctx, []rehab.Entry{q.note(q.a.ID, "m1", "told")}))
	})
	for i := range 2 { // told again, the delete keeps its first time
		q.at(noon.Add(time.Duration(i+1)*time.Hour), func(tx *store.Tx) { ok(t, tx.Flag(ctx, "m1")) })
	}
	q.at(noon, func(tx *store.Tx) {
		same(t, "deleted", must(tx.Message(ctx, "m1"))(t).Deleted, noon.Add(time.Hour))
		same(t, "the other", must(tx.Message(ctx, "m2"))(t).Deleted, time.Time{})
		same(t, "what the deleted message recorded", len(must(tx.Entries(ctx, q.a.ID))(t)), 1)
	})
	same(t, "settled", settled(), []string{"m1|null", "m2|null"})
	q.at(noon.Add(3*time.Hour), func(tx *store.Tx) { ok(t, tx.Settle(ctx, "m1")) })
	same(t, "settled", settled(), []string{"m1|2026-03-02T15:00:00.123456Z", "m2|null"})
}

func messageNeedsAnAuthorOfTheTeam(t *testing.T, q squad) {
	err := q.try(q.s, noon, func(tx *store.Tx) error {
		return tx.PutMessage(ctx, store.Message{Key: "m1", Author: 9999, Place: "medical", Sent: noon})
	})
	if err == nil {
		t.Error("a message may be by nobody")
	}
}

func flaggedCountsWhatIsUndecided(t *testing.T, q squad) {
	q.at(noon, func(tx *store.Tx) {
		for _, key := range []string{"m1", "m2", "m3", "empty", "kept"} {
			ok(t, tx.PutMessage(ctx, store.Message{Key: key, Author: q.physio.ID, Place: "medical", Sent: noon}))
		}
		// Two entries of one message are one message to decide about.
		ok(t, tx.Append(ctx, []rehab.Entry{
			q.note(q.a.ID, "m1", "1"), q.note(q.a.ID, "m1", "2"), q.note(q.a.ID, "m2", "3"), q.note(q.b.ID, "m2", "1"), q.note(q.b.ID, "m3", "2"), q.note(q.b.ID, "kept", "3"),
		}))
		same(t, "before any delete", must(tx.Flagged(ctx))(t), map[int64]int{})
		for _, key := range []string{"m1", "m2", "m3", "empty"} {
			ok(t, tx.Flag(ctx, key))
		}
		same(t, "after four", must(tx.Flagged(ctx))(t), map[int64]int{q.a.ID: 2, q.b.ID: 2})
		ok(t, tx.Settle(ctx, "m1"))
		same(t, "one settled", must(tx.Flagged(ctx))(t), map[int64]int{q.a.ID: 1, q.b.ID: 2})
		ok(t, tx.Void(ctx, "m2", 0, q.physio.ID))
		same(t, "one voided", must(tx.Flagged(ctx))(t), map[int64]int{q.b.ID: 1})
		ok(t, tx.Supersede(ctx, "m3", 0))
		same(t, "one superseded", must(tx.Flagged(ctx))(t), map[int64]int{})
	})
}
