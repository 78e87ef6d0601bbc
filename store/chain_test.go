package store_test

import (
	"fmt"
	"strings"
	"testing"

	"footing/rehab"
	"footing/store"
)

// logged puts an athlete on the roster with a log of five entries, the second voided and the third
// superseded, and with entries of a between them.
func logged(q squad, shirt int) (athlete int64) {
	q.t.Helper()
	source := func(i int) string { return fmt.Sprintf("m%d-%d", shirt, i) }
	q.at(noon, func(tx *store.Tx) {
		athlete = must(tx.AddAthlete(ctx, rehab.Athlete{Shirt: shirt, Name: "Logged"}, strings.ToLower))(q.t).ID
		for i := range 5 {
			ok(q.t, tx.Append(ctx, []rehab.Entry{q.note(athlete, source(i+1), "entry"), q.note(q.a.ID, "other", "entry")}))
		}
		ok(q.t, tx.Void(ctx, source(2), 0, q.physio.ID))
		ok(q.t, tx.Supersede(ctx, source(3), 0))
	})
	return athlete
}

// broken is what VerifyChain says of an athlete's log.
func broken(q squad, athlete int64) (seq int64, err error) {
	err = q.try(q.s, noon, func(tx *store.Tx) (err error) {
		seq, err = tx.VerifyChain(ctx, athlete)
		return err
	})
	return seq, err
}

func TestChain(t *testing.T) {
	share(t, cases{
		"Untouched log is whole":      untouchedLogIsWhole,
		"Altered log is noticed":      alteredLogIsNoticed,
		"Removed entry is noticed":    removedEntryIsNoticed,
		"Emptied log is noticed":      emptiedLogIsNoticed,
		"Swapped entries are noticed": swappedEntriesAreNoticed,
		"Rewritten end is noticed":    rewrittenEndIsNoticed,
	})
}

func untouchedLogIsWhole(t *testing.T, q squad) {
	for _, athlete := range []int64{logged(q, 20), q.a.ID, q.b.ID} {
		same(t, "the seq named", must(broken(q, athlete))(t), int64(0))
	}
}

// Someone with SQL changes the log by hand. Each change is seen and placed, also one to an entry
// that no longer counts, and the other athlete's log stays whole.
func alteredLogIsNoticed(t *testing.T, q squad) {
	for i, c := range []struct {
		what, change string
		seq          int64
	}{
		{"the text", `body = '{"text":"entrY"}'`, 4},
		{"the text of a voided entry", `body = '{"text":"other"}'`, 2},
		{"the text of a superseded entry", `body = '{"text":"other"}'`, 3},
		{"the text's spelling only", `body = '{"text": "entry"}'`, 1},
		{"the text, no longer readable", `body = 'gone'`, 4},
		{"when it happened", `happened_at = '2026-03-02T12:00:00.123457Z'`, 1},
		{"when it was logged", `logged_at = '2026-03-01T12:00:00.000000Z'`, 5},
		{"the kind", `kind = 'joined'`, 4},
		{"the kind, to an unknown one", `kind = 'divined'`, 4},
		{"the episode", `episode = 2`, 4},
		{"the message", `source = 'm9'`, 4},
		{"the line", `source_line = 2`, 4},
		{"who logged it", `author_id = NULL`, 4},
		{"the seq it first had", `first_seq = 1`, 4},
		{"the salt", `salt = 'x'`, 4},
		{"the commitment", `commitment = 'x'`, 4},
		{"the chain", `chain = 'x'`, 4},
		{"the last chain", `chain = 'x'`, 5},
	} {
		athlete := logged(q, 20+i)
		exec(t, q.db, `UPDATE entries SET `+c.change+` WHERE athlete_id = $1 AND seq = $2`, athlete, c.seq)
		if seq, err := broken(q, athlete); err != nil || seq != c.seq {
			t.Errorf("%s of %d was changed: seq %d is named, error %v", c.what, c.seq, seq, err)
		}
	}
	same(t, "the seq named in the other log", must(broken(q, q.a.ID))(t), int64(0))
}

func removedEntryIsNoticed(t *testing.T, q squad) {
	for seq := int64(1); seq <= 5; seq++ {
		athlete := logged(q, 20+int(seq))
		exec(t, q.db, `DELETE FROM entries WHERE athlete_id = $1 AND seq = $2`, athlete, seq)
		same(t, "the seq named", must(broken(q, athlete))(t), seq)
	}
}

func emptiedLogIsNoticed(t *testing.T, q squad) {
	athlete := logged(q, 20)
	exec(t, q.db, `DELETE FROM entries WHERE athlete_id = $1`, athlete)
	same(t, "the seq named", must(broken(q, athlete))(t), int64(1))
}

func swappedEntriesAreNoticed(t *testing.T, q squad) {
	athlete := logged(q, 20)
	for _, s := range []string{"seq = 0 WHERE seq = 2", "seq = 2 WHERE seq = 4", "seq = 4 WHERE seq = 0"} {
		exec(t, q.db, `UPDATE entries SET `+s+` AND athlete_id = $1`, athlete)
	}
	same(t, "the seq named", must(broken(q, athlete))(t), int64(2))
}

// Whoever can write the last entry anew, commitment and all, still disagrees with the head kept apart.
func rewrittenEndIsNoticed(t *testing.T, q squad) {
	athlete := logged(q, 20)
	head := rows(t, q.db, `SELECT digest FROM athlete_state WHERE athlete_id = $1`, athlete)[0]
	exec(t, q.db, `DELETE FROM entries WHERE athlete_id = $1 AND seq = 5`, athlete)
	exec(t, q.db, `UPDATE athlete_state SET seq = 4, digest = (SELECT chain FROM entries WHERE athlete_id = $1 AND seq = 4) WHERE athlete_id = $1`, athlete)
	q.at(noon, func(tx *store.Tx) { ok(t, tx.Append(ctx, []rehab.Entry{q.note(athlete, "m1", "another story")})) })
	same(t, "the seq named of a log that is whole", must(broken(q, athlete))(t), int64(0))
	exec(t, q.db, `UPDATE athlete_state SET digest = $2 WHERE athlete_id = $1`, athlete, head)
	if seq := must(broken(q, athlete))(t); seq < 5 {
		t.Errorf("seq %d is named", seq)
	}
}
