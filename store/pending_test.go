package store_test

import (
	"testing"
	"time"

	"footing/store"
	"footing/store/storetest"
)

// button is a question about athlete a with every field set.
func button(q squad, token, group string) store.Pending {
	return store.Pending{
		Token: token, Group: group, Label: "Left", Line: "sprain 7 left", File: "BEGIN:VCALENDAR\r\n", Confirmed: true, Strict: true, Place: "medical", Source: "m1", SourceRow: 2,
		Athlete: q.a.ID, Seq: 5, AskedOf: q.physio.ID, Asked: noon, Expires: noon.Add(12 * time.Hour),
	}
}

func TestPending(t *testing.T) {
	share(t, cases{
		"Pending comes back whole":              pendingComesBackWhole,
		"One button uses up its whole group":    oneButtonUsesUpItsWholeGroup,
		"Two presses at once are one":           twoPressesAtOnceAreOne,
		"Line is forgotten once it has served":  lineIsForgotten,
		"Edit drops the questions it overtakes": editDropsTheQuestionsItOvertakes,
	})
}

func pendingComesBackWhole(t *testing.T, q squad) {
	full, nobody := button(q, "t1", "g1"), button(q, "t2", "g1")
	nobody.Athlete, nobody.Seq, nobody.Confirmed, nobody.Strict = 0, 0, false, false
	q.at(noon, func(tx *store.Tx) {
		ok(t, tx.PutPending(ctx, full))
		ok(t, tx.PutPending(ctx, nobody))
	})
	q.at(noon, func(tx *store.Tx) {
		same(t, "the button", must(tx.Pending(ctx, "t1"))(t), full)
		same(t, "the one about nobody", must(tx.Pending(ctx, "t2"))(t), nobody)
		_, err := tx.Pending(ctx, "t3")
		is(t, "a made-up token", err, store.ErrNotFound)
	})
}

func oneButtonUsesUpItsWholeGroup(t *testing.T, q squad) {
	q.at(noon, func(tx *store.Tx) {
		for _, p := range []store.Pending{button(q, "t1", "g1"), button(q, "t2", "g1"), button(q, "t3", "g2")} {
			ok(t, tx.PutPending(ctx, p))
		}
	})
	q.at(noon.Add(time.Minute), func(tx *store.Tx) {
		same(t, "the first press", must(tx.UsePending(ctx, "g1"))(t), true)
		same(t, "a second press", must(tx.UsePending(ctx, "g1"))(t), false)
	})
	q.at(noon.Add(2*time.Minute), func(tx *store.Tx) {
		same(t, "a late press", must(tx.UsePending(ctx, "g1"))(t), false)
		same(t, "a press of nothing", must(tx.UsePending(ctx, "g3"))(t), false)
		for token, used := range map[string]time.Time{"t1": noon.Add(time.Minute), "t2": noon.Add(time.Minute), "t3": {}} {
			same(t, token+" used", must(tx.Pending(ctx, token))(t).Used, used)
		}
	})
}

// Two people press at the same moment: one of them is told that it was answered already.
func twoPressesAtOnceAreOne(t *testing.T, q squad) {
	q.at(noon, func(tx *store.Tx) {
		ok(t, tx.PutPending(ctx, button(q, "t1", "g1")))
		ok(t, tx.PutPending(ctx, button(q, "t2", "g1")))
	})
	other := storetest.Open(t, q.config)
	second, failed := true, make(chan error, 1)
	q.at(noon, func(tx *store.Tx) {
		same(t, "the first press", must(tx.UsePending(ctx, "g1"))(t), true)
		go func() {
			failed <- q.try(other, noon, func(tx *store.Tx) (err error) {
				second, err = tx.UsePending(ctx, "g1")
				return err
			})
		}()
	})
	ok(t, <-failed)
	same(t, "the second press", second, false)
}

func editDropsTheQuestionsItOvertakes(t *testing.T, q squad) {
	used, other := button(q, "t1", "g1"), button(q, "t3", "g3")
	other.Source = "m2"
	q.at(noon, func(tx *store.Tx) {
		for _, p := range []store.Pending{used, button(q, "t2", "g2"), other} {
			ok(t, tx.PutPending(ctx, p))
		}
		must(tx.UsePending(ctx, "g1"))(t)
	})
	q.at(noon.Add(time.Hour), func(tx *store.Tx) {
		ok(t, tx.DropPending(ctx, "m1"))
		for token, at := range map[string]time.Time{"t1": noon, "t2": noon.Add(time.Hour), "t3": {}} {
			same(t, token+" used", must(tx.Pending(ctx, token))(t).Used, at)
		}
		same(t, "pressing a dropped button", must(tx.UsePending(ctx, "g2"))(t), false)
		same(t, "pressing another message's", must(tx.UsePending(ctx, "g3"))(t), true)
	})
}

// A line may hold words about a person's health: it is kept while the button may be pressed.
func lineIsForgotten(t *testing.T, q squad) {
	used, dropped, expired, open := button(q, "used", "g1"), button(q, "dropped", "g2"), button(q, "expired", "g3"), button(q, "open", "g4")
	used.Source, expired.Source, open.Source = "m2", "m2", "m2"
	expired.Expires = open.Expires.Add(-time.Microsecond)
	q.at(noon, func(tx *store.Tx) {
		for _, p := range []store.Pending{used, dropped, expired, open} {
			ok(t, tx.PutPending(ctx, p))
		}
		must(tx.UsePending(ctx, "g1"))(t)
		ok(t, tx.DropPending(ctx, "m1"))
	})
	q.at(open.Expires, func(tx *store.Tx) {
		ok(t, tx.ForgetExpired(ctx))
		for token, line := range map[string]string{"used": "", "dropped": "", "expired": "", "open": "sprain 7 left"} {
			p := must(tx.Pending(ctx, token))(t)
			same(t, "the line of the "+token+" button", p.Line, line)
			same(t, "the file of the "+token+" button goes with it", p.File != "", line != "")
		}
		same(t, "whether the expired one was used", must(tx.Pending(ctx, "expired"))(t).Used, time.Time{})
	})
}
