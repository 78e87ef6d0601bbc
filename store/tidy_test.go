package store_test

import (
	"testing"
	"time"

	"footing/store"
)

// What grows for ever without being a record goes after a month; what may still be pressed or read back stays.
func TestWhatIsNoRecordIsNotKeptForEver(t *testing.T) {
	share(t, cases{"questions and events": func(t *testing.T, q squad) {
		const day = 24 * time.Hour
		for i, key := range []string{"old", "new"} {
			then := noon.Add(time.Duration(i) * 40 * day)
			q.at(then, func(tx *store.Tx) {
				must(tx.Claim(ctx, key))(t)
				ok(t, tx.PutPending(ctx, store.Pending{Token: key, Group: "g", Label: "x", Line: "x", Place: "medical", Source: "1", AskedOf: q.physio.ID, Asked: then, Expires: then}))
			})
		}
		left := func() []string {
			return append(rows(t, q.db, `SELECT token FROM pending ORDER BY token`), rows(t, q.db, `SELECT event_key FROM inbox ORDER BY event_key`)...)
		}
		forget := func(now time.Time) {
			q.at(now, func(tx *store.Tx) { ok(t, tx.ForgetExpired(ctx)) })
			ok(t, q.s.ForgetEvents(ctx, now))
		}
		forget(noon.Add(30 * day))
		same(t, "for 30 days", left(), []string{"new", "old", "new", "old"})
		forget(noon.Add(30*day + moment))
		same(t, "after them", left(), []string{"new", "new"})
	}})
}
