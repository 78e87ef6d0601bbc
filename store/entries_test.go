package store_test

import (
	"testing"
	"time"

	"footing/rehab"
	"footing/store"
)

func TestEntries(t *testing.T) {
	share(t, cases{
		"Append gives each athlete a gapless seq":   appendGivesEachAthleteAGaplessSeq,
		"Rolled back append leaves no gap":          rolledBackAppendLeavesNoGap,
		"Entry keeps its header":                    entryKeepsItsHeader,
		"Unknown athlete is not found":              unknownAthleteIsNotFound,
		"Void hides but keeps":                      voidHidesButKeeps,
		"Supersede hides one line":                  supersedeHidesOneLine,
		"Last source":                               lastSource,
		"Two authors of one message are told apart": twoAuthorsAreToldApart,
		"Version counts every change":               versionCountsEveryChange,

		"Tests are kept as plain numbers":               testsAreKeptAsPlainNumbers,
		"Decision keeps what it rested on":              decisionKeepsWhatItRestedOn,
		"Decision by an unknown protocol is not stored": decisionByAnUnknownProtocolIsNotStored,
		"Voided measurements stay":                      voidedMeasurementsStay,
	})
}

func appendGivesEachAthleteAGaplessSeq(t *testing.T, q squad) {
	a, b := q.a.ID, q.b.ID
	q.at(noon, func(tx *store.Tx) {
		ok(t, tx.Append(ctx, []rehab.Entry{q.note(a, "m1", "1"), q.note(b, "m1", "1"), q.note(a, "m1", "2"), q.note(a, "m1", "3"), q.note(b, "m1", "2")}))
	})
	q.at(noon, func(tx *store.Tx) {
		same(t, "the locked seqs", must(tx.Lock(ctx, b, a, b))(t), map[int64]int64{a: 3, b: 2})
		ok(t, tx.Append(ctx, []rehab.Entry{q.note(b, "m2", "3"), q.note(a, "m2", "4")}))
		same(t, "locked again", must(tx.Lock(ctx, a))(t), map[int64]int64{a: 4})
		same(t, "nobody locked", must(tx.Lock(ctx))(t), map[int64]int64{})
	})
	q.at(noon, func(tx *store.Tx) {
		same(t, "the seqs of a", seqs(must(tx.Entries(ctx, a))(t)), []int64{1, 2, 3, 4})
		same(t, "the seqs of b", seqs(must(tx.Entries(ctx, b))(t)), []int64{1, 2, 3})
		team := must(tx.TeamEntries(ctx))(t)
		same(t, "the team's a", team[a], must(tx.Entries(ctx, a))(t))
		same(t, "the team's b", team[b], must(tx.Entries(ctx, b))(t))
		same(t, "athletes with entries", len(team), 2)
	})
}

// A seq given by a transaction that failed is given again: a gap would look like a removed entry.
func rolledBackAppendLeavesNoGap(t *testing.T, q squad) {
	for range 2 {
		_ = q.try(q.s, noon, func(tx *store.Tx) error {
			ok(t, tx.Append(ctx, []rehab.Entry{q.note(q.a.ID, "m1", "undone")}))
			return store.ErrInUse // any error
		})
	}
	q.at(noon, func(tx *store.Tx) {
		ok(t, tx.Append(ctx, []rehab.Entry{q.note(q.a.ID, "m1", "kept")}))
		same(t, "the seqs", seqs(must(tx.Entries(ctx, q.a.ID))(t)), []int64{1})
		same(t, "the broken seq", must(tx.VerifyChain(ctx, q.a.ID))(t), int64(0))
	})
}

func entryKeepsItsHeader(t *testing.T, q squad) {
	want := rehab.Entry{
		Seq: 77, First: 2, Athlete: q.a.ID, Episode: 3, At: noon.Add(-time.Hour), Logged: noon.Add(-9 * time.Hour),
		Author: q.physio.ID, Source: "m1", Line: 4, Body: rehab.Noted{Text: "x"},
	}
	unsigned := want
	unsigned.Author, unsigned.First, unsigned.Episode, unsigned.Line = 0, 0, 0, 0
	now := noon.Add(789 * time.Nanosecond) // the store keeps microseconds
	q.at(now.In(time.FixedZone("there", 13*3600)), func(tx *store.Tx) {
		same(t, "the instant of the work", tx.Now(), noon)
		ok(t, tx.Append(ctx, []rehab.Entry{want, unsigned}))
	})
	want.Seq, want.Logged = 1, noon
	unsigned.Seq, unsigned.Logged = 2, noon
	q.at(noon.Add(time.Hour), func(tx *store.Tx) {
		same(t, "the entries", must(tx.Entries(ctx, q.a.ID))(t), []rehab.Entry{want, unsigned})
		same(t, "by source", must(tx.SourceEntries(ctx, "m1"))(t), []rehab.Entry{want, unsigned})
		same(t, "by an unknown source", must(tx.SourceEntries(ctx, "m2"))(t), []rehab.Entry{})
	})
}

func unknownAthleteIsNotFound(t *testing.T, q squad) {
	q.at(noon, func(tx *store.Tx) {
		_, err := tx.Lock(ctx, q.a.ID, 9999)
		is(t, "locking", err, store.ErrNotFound)
		is(t, "appending", tx.Append(ctx, []rehab.Entry{q.note(9999, "m1", "?")}), store.ErrNotFound)
		same(t, "the entries", must(tx.Entries(ctx, 9999))(t), []rehab.Entry{})
	})
}

func voidHidesButKeeps(t *testing.T, q squad) {
	a, b := q.a.ID, q.b.ID
	q.at(noon, func(tx *store.Tx) {
		ok(t, tx.Append(ctx, []rehab.Entry{q.note(a, "m1", "1"), q.note(b, "m1", "1"), q.note(a, "m2", "2")}))
	})
	for i := range 2 { // voiding again must not move the time of the first
		q.at(noon.Add(time.Duration(i+1)*time.Hour), func(tx *store.Tx) { ok(t, tx.Void(ctx, "m1", 0, q.physio.ID)) })
	}
	q.at(noon, func(tx *store.Tx) {
		same(t, "live of a", seqs(must(tx.Entries(ctx, a))(t)), []int64{2})
		same(t, "live of b", seqs(must(tx.Entries(ctx, b))(t)), []int64{})
		same(t, "live of the team", len(must(tx.TeamEntries(ctx))(t)), 1)
		same(t, "live of the message", must(tx.SourceEntries(ctx, "m1"))(t), []rehab.Entry{})
		ok(t, tx.Append(ctx, []rehab.Entry{q.note(a, "m3", "3")}))
		same(t, "the next seq", seqs(must(tx.Entries(ctx, a))(t)), []int64{2, 3})
	})
	same(t, "who voided", rows(t, q.db, `SELECT source, athlete_id = $1, voided_by = $2, superseded_at IS NULL FROM entries WHERE voided_at = $3 ORDER BY id`, a, q.physio.ID, "2026-03-02T13:00:00.123456Z"),
		[]string{"m1|1|1|1", "m1|0|1|1"})
}

func supersedeHidesOneLine(t *testing.T, q squad) {
	second := q.note(q.a.ID, "m1", "second line")
	second.Line = 1
	q.at(noon, func(tx *store.Tx) {
		ok(t, tx.Append(ctx, []rehab.Entry{q.note(q.a.ID, "m1", "first line"), second, q.note(q.a.ID, "m2", "another message")}))
	})
	q.at(noon.Add(time.Hour), func(tx *store.Tx) {
		ok(t, tx.Supersede(ctx, "m1", 0))
		same(t, "live", seqs(must(tx.Entries(ctx, q.a.ID))(t)), []int64{2, 3})
		ok(t, tx.Void(ctx, "m1", 0, q.physio.ID))
		same(t, "live", seqs(must(tx.Entries(ctx, q.a.ID))(t)), []int64{3})
	})
	same(t, "the rows", rows(t, q.db, `SELECT seq, superseded_at IS NULL, voided_at IS NULL FROM entries ORDER BY seq`),
		[]string{"1|0|1", "2|1|0", "3|1|1"})
}

func lastSource(t *testing.T, q squad) {
	var other rehab.Member
	q.at(noon, func(tx *store.Tx) { other = must(tx.Member(ctx, "doctor", []rehab.Role{rehab.Medical}))(t) })
	log := func(after time.Duration, source string, author int64) {
		e, f := q.note(q.a.ID, source, "a"), q.note(q.b.ID, source, "b")
		e.Author, f.Author, f.Line = author, author, 1
		q.at(noon.Add(after), func(tx *store.Tx) { ok(t, tx.Append(ctx, []rehab.Entry{e, f})) })
	}
	log(0, "m1", q.physio.ID)
	log(time.Hour, "m2", q.physio.ID)
	log(time.Hour, "m3", q.physio.ID) // as late as m2, but stored after it
	log(2*time.Hour, "m4", other.ID)
	last := func(since time.Duration) (source string) {
		q.at(noon, func(tx *store.Tx) {
			var entries []rehab.Entry
			var err error
			source, entries, err = tx.LastSource(ctx, q.physio.ID, noon.Add(since))
			ok(t, err)
			same(t, "the entries of "+source, entries == nil, source == "")
			if source != "" {
				same(t, "the entries of "+source, entries, must(tx.SourceEntries(ctx, source))(t))
			}
		})
		return source
	}
	same(t, "the last", last(0), "m3")
	same(t, "the last since a microsecond later", last(time.Hour+time.Microsecond), "")
	q.at(noon, func(tx *store.Tx) { ok(t, tx.Void(ctx, "m3", 0, q.physio.ID)) })
	same(t, "once that was voided", last(time.Hour), "m2")
	q.at(noon, func(tx *store.Tx) { ok(t, tx.Supersede(ctx, "m2", 0)) })
	same(t, "with one line superseded", last(0), "m2")
	q.at(noon, func(tx *store.Tx) { ok(t, tx.Supersede(ctx, "m2", 1)) })
	same(t, "with both superseded", last(0), "m1")
	q.at(noon, func(tx *store.Tx) { ok(t, tx.Void(ctx, "m1", 0, q.physio.ID)) })
	same(t, "with nothing left", last(0), "")
}

// Someone else may answer a message's question: the record belongs to the message but is theirs.
func twoAuthorsAreToldApart(t *testing.T, q squad) {
	q.at(noon, func(tx *store.Tx) {
		doctor := must(tx.Member(ctx, "doctor", []rehab.Role{rehab.Medical}))(t)
		theirs, bots := q.note(q.a.ID, "m1", "2"), q.note(q.a.ID, "m1", "3")
		theirs.Author, bots.Author = doctor.ID, 0
		ok(t, tx.Append(ctx, []rehab.Entry{q.note(q.a.ID, "m1", "1"), theirs, bots}))
		_, entries, err := tx.LastSource(ctx, doctor.ID, noon)
		ok(t, err)
		same(t, "the doctor's last", seqs(entries), []int64{2})
		ok(t, tx.Void(ctx, "m1", doctor.ID, q.physio.ID))
		same(t, "live without the doctor's", seqs(must(tx.Entries(ctx, q.a.ID))(t)), []int64{1, 3})
		ok(t, tx.Void(ctx, "m1", 0, q.physio.ID))
		same(t, "live without anyone's", seqs(must(tx.Entries(ctx, q.a.ID))(t)), []int64{})
	})
}

func versionCountsEveryChange(t *testing.T, q squad) {
	q.at(noon, func(tx *store.Tx) {
		version := func(what string, want int64) {
			t.Helper()
			same(t, what, must(tx.Version(ctx, q.a.ID))(t), want)
		}
		version("an empty log", 0)
		ok(t, tx.Append(ctx, []rehab.Entry{q.note(q.a.ID, "m1", "1"), q.note(q.a.ID, "m2", "2"), q.note(q.b.ID, "m1", "1")}))
		version("two entries", 2)
		ok(t, tx.Void(ctx, "m1", 0, q.physio.ID))
		version("one voided", 3)
		ok(t, tx.Void(ctx, "m1", 0, q.physio.ID))
		version("voided again, which changes nothing", 3)
		ok(t, tx.Supersede(ctx, "m2", 0))
		version("the other superseded", 4)
		same(t, "the other athlete's", must(tx.Version(ctx, q.b.ID))(t), int64(2))
	})
}
