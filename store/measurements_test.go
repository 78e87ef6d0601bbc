package store_test

import (
	"testing"
	"time"

	"footing/rehab"
	"footing/store"
)

// The plain rows are for charts and for anyone with SQL, so they are read here with SQL.
func testsAreKeptAsPlainNumbers(t *testing.T, q squad) {
	happened := noon.Add(-26 * time.Hour)
	tested := func(b rehab.Tested) rehab.Entry {
		return rehab.Entry{Athlete: q.a.ID, At: happened, Source: "m1", Author: q.physio.ID, Body: b}
	}
	q.at(noon, func(tx *store.Tx) {
		ok(t, tx.Append(ctx, []rehab.Entry{
			tested(rehab.Tested{Test: "hop", Side: rehab.Left, Trials: []rehab.Trial{{Value: 12.5}, {Value: 3, Failed: true}, {Value: 45, Capped: true}, {}}}),
			tested(rehab.Tested{Test: "gait", Choice: "smooth"}),
			tested(rehab.Tested{Test: "wbl", Side: rehab.Right, Absent: "not-done", Reason: "sore"}),
			tested(rehab.Tested{Test: "wbl", Side: rehab.Right, Trials: []rehab.Trial{{Value: 0.1}}}),
			q.note(q.a.ID, "m1", "no measurement"),
		}))
	})
	got := rows(t, q.db, `SELECT e.seq, m.test, m.side, m.trial, m.value, m.failed, m.capped, m.choice FROM measurements m JOIN entries e ON e.id = m.entry_id ORDER BY e.seq, m.trial`)
	same(t, "the rows", got, []string{
		"1|hop|left|0|12.5|0|0|",
		"1|hop|left|1|null|1|0|", // a failed trial has no value to average by mistake
		"1|hop|left|2|45|0|1|",
		"1|hop|left|3|0|0|0|",
		"2|gait||0|null|0|0|smooth",
		"4|wbl|right|0|0.1|0|0|",
	})
	same(t, "when and whose", rows(t, q.db, `SELECT DISTINCT team_id, athlete_id, happened_at FROM measurements`), []string{text(q.team.ID) + "|" + text(q.a.ID) + "|" + text(happened)})
}

func decisionKeepsWhatItRestedOn(t *testing.T, q squad) {
	decided := rehab.Decided{
		Action: rehab.Advance, From: "calm", To: "load", Reason: "good", Protocol: hash,
		Evidence: []rehab.Seen{{Criterion: "wbl", Status: rehab.Met, Says: "wbl 12 cm, ≥ 9", Seqs: []int64{1, 2}}},
	}
	e := q.note(q.a.ID, "m2", "")
	e.Body = decided
	q.at(noon, func(tx *store.Tx) {
		ok(t, tx.Append(ctx, []rehab.Entry{q.note(q.a.ID, "m1", "1"), q.note(q.a.ID, "m1", "2"), q.note(q.b.ID, "m1", "1")}))
	})
	q.at(noon, func(tx *store.Tx) { ok(t, tx.Append(ctx, []rehab.Entry{e})) })
	want := text(q.team.ID) + "|" + text(q.a.ID) + `|advance|calm|load|` + hash + `|2|[{"criterion":"wbl","status":"met","says":"wbl 12 cm, ≥ 9","seqs":[1,2]}]`
	same(t, "the rows", rows(t, q.db, `SELECT team_id, athlete_id, action, from_stage, to_stage, protocol_hash, seen_seq, evidence FROM decisions`), []string{want})
	same(t, "of entry", rows(t, q.db, `SELECT e.seq FROM decisions d JOIN entries e ON e.id = d.entry_id`), []string{"3"})
}

func decisionByAnUnknownProtocolIsNotStored(t *testing.T, q squad) {
	e := q.note(q.a.ID, "m1", "")
	e.Body = rehab.Decided{Action: rehab.Stay, Protocol: "unknown"}
	if err := q.try(q.s, noon, func(tx *store.Tx) error { return tx.Append(ctx, []rehab.Entry{e}) }); err == nil {
		t.Error("a decision may name a protocol that is not kept")
	}
	same(t, "entries left", rows(t, q.db, `SELECT count(*) FROM entries`), []string{"0"})
}

// Taking an entry back leaves its numbers: whoever reads them joins the entry to see whether it
// stands.
func voidedMeasurementsStay(t *testing.T, q squad) {
	e := q.note(q.a.ID, "m1", "")
	e.Body = rehab.Tested{Test: "hop", Side: rehab.Left, Trials: []rehab.Trial{{Value: 1}}}
	q.at(noon, func(tx *store.Tx) {
		ok(t, tx.Append(ctx, []rehab.Entry{e}))
		ok(t, tx.Void(ctx, "m1", 0, q.physio.ID))
	})
	same(t, "rows", rows(t, q.db, `SELECT m.value FROM measurements m JOIN entries e ON e.id = m.entry_id WHERE e.voided_at IS NOT NULL`), []string{"1"})
}
