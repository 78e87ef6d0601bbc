package store_test

import (
	"testing"

	"footing/rehab"
	"footing/store"
)

func TestSchedule(t *testing.T) {
	share(t, cases{
		"Occurrence happens once per team and day": occurrenceHappensOncePerTeamAndDay,
		"Rollback frees an occurrence":             rollbackFreesAnOccurrence,
		"Told is of the latest day before":         toldIsOfTheLatestDayBefore,
	})
}

func occurrenceHappensOncePerTeamAndDay(t *testing.T, q squad) {
	bats := q.found(t, "bats")
	q.at(noon, func(tx *store.Tx) {
		same(t, "occurred before", must(tx.LatestOccurrence(ctx, "report"))(t), "")
		same(t, "the first", must(tx.Occur(ctx, "report", "2026-03-02", "sent"))(t), true)
		same(t, "a second", must(tx.Occur(ctx, "report", "2026-03-02", "missed"))(t), false)
		same(t, "occurred after", must(tx.LatestOccurrence(ctx, "report"))(t), "2026-03-02")
		same(t, "another day", must(tx.Occur(ctx, "report", "2026-03-03", "sent"))(t), true)
		same(t, "another thing", must(tx.Occur(ctx, "reminder", "2026-03-02", "sent"))(t), true)
	})
	bats.at(noon, func(tx *store.Tx) {
		same(t, "the other team's before", must(tx.LatestOccurrence(ctx, "report"))(t), "")
		same(t, "the other team's", must(tx.Occur(ctx, "report", "2026-03-02", "missed"))(t), true)
	})
	same(t, "the outcomes", rows(t, q.db, `SELECT outcome, at FROM occurrences WHERE what = 'report' AND local_date = '2026-03-02' ORDER BY team_id`),
		[]string{"sent|" + text(noon), "missed|" + text(noon)})
}

// The report of a transaction that fails has not happened.
func rollbackFreesAnOccurrence(t *testing.T, q squad) {
	is(t, "the failed work", q.try(q.s, noon, func(tx *store.Tx) error {
		must(tx.Occur(ctx, "report", "2026-03-02", "sent"))(t)
		return errAny
	}), errAny)
	q.at(noon, func(tx *store.Tx) { same(t, "again", must(tx.Occur(ctx, "report", "2026-03-02", "sent"))(t), true) })
}

func toldIsOfTheLatestDayBefore(t *testing.T, q squad) {
	out := rehab.Availability{Level: rehab.Unavailable, Cannot: []string{"run", "jump"}, Out: 4}
	some := rehab.Availability{Level: rehab.Modified, Can: []string{"gym"}, Cannot: []string{"contact"}, Out: 5}
	full := rehab.Availability{Level: rehab.Full}
	q.at(noon, func(tx *store.Tx) {
		date, told, err := tx.Told(ctx, "2026-03-02")
		ok(t, err)
		if date != "" || told != nil {
			t.Errorf("never told, but of %q: %v", date, told)
		}
		ok(t, tx.PutTold(ctx, "2026-02-27", map[int64]rehab.Availability{q.a.ID: out}))
		ok(t, tx.PutTold(ctx, "2026-02-28", map[int64]rehab.Availability{q.a.ID: full, q.b.ID: full}))
		ok(t, tx.PutTold(ctx, "2026-02-28", map[int64]rehab.Availability{q.a.ID: some})) // told again, the later stands
		ok(t, tx.PutTold(ctx, "2026-03-02", map[int64]rehab.Availability{q.b.ID: out}))
	})
	q.at(noon, func(tx *store.Tx) {
		for _, c := range []struct {
			before, date string
			told         map[int64]rehab.Availability
		}{
			{"2026-03-03", "2026-03-02", map[int64]rehab.Availability{q.b.ID: out}},
			{"2026-03-02", "2026-02-28", map[int64]rehab.Availability{q.a.ID: some, q.b.ID: full}},
			{"2026-03-01", "2026-02-28", map[int64]rehab.Availability{q.a.ID: some, q.b.ID: full}},
			{"2026-02-28", "2026-02-27", map[int64]rehab.Availability{q.a.ID: out}},
			{"2026-02-27", "", nil},
		} {
			date, told, err := tx.Told(ctx, c.before)
			ok(t, err)
			same(t, "the day before "+c.before, date, c.date)
			same(t, "told before "+c.before, told, c.told)
		}
	})
	same(t, "the levels", rows(t, q.db, `SELECT level FROM told WHERE local_date = '2026-02-28' AND athlete_id = $1`, q.a.ID), []string{"modified"})
}
