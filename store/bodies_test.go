package store_test

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"footing/rehab"
	"footing/store"
)

// Every kind with every field set.
var bodies = []rehab.Body{
	rehab.Joined{Shirt: 12},
	rehab.Sprained{Side: rehab.Left, Mechanism: "inversion", Contact: "no-contact", Setting: "match", Grade: 2, Again: true, Protocol: hash},
	rehab.Screened{Answers: []rehab.Answer{{Finding: "bone-lateral", Yes: true}, {Finding: "numb"}}},
	rehab.Lifted{Course: "sprain", Reason: "films clear", Rules: []string{"bone", "steps"}},
	rehab.Tested{Test: "wbl", Side: rehab.Right, Trials: []rehab.Trial{{Value: 10.25}, {Value: 0.1, Failed: true}, {Value: 30, Capped: true}}, Choice: "smooth", Absent: "not-done", Reason: "sore", Pain: ptr(2), Masked: true},
	rehab.Responded{Pain: 3, Swelling: "more", Limp: true, Alarms: []string{"gave-way"}, ByStaff: true},
	rehab.Decided{Action: rehab.StepBack, From: "load", To: "calm", Reason: "worse", Protocol: hash, Evidence: []rehab.Seen{{Criterion: "wbl", Status: rehab.NotMet, Says: "wbl 8 cm", Seqs: []int64{3, 5}}}},
	rehab.Noted{Text: "ice", Alert: true, Seen: true},
	rehab.Changed{Fields: []string{"shirt", "name"}, Was: rehab.Athlete{Shirt: 9, Name: "Mere", Nick: "Mez", Position: "wing", Sex: "female", Born: "1999", Leg: 88.5}},
	rehab.Departed{},
	rehab.Past{Side: rehab.Left, Sprains: 2, Surgery: true, Lax: true, Text: "2024"},
	rehab.Restricted{Level: rehab.Modified, Cannot: []string{"contact"}, Cause: "illness", Until: "2026-03-06", Review: "2026-03-05"},
	rehab.Supported{Support: "tape", For: "matches", Until: "2026-09-01"},
	rehab.PlayedOn{After: true, Passed: []string{"no-limp"}, Missed: []string{"pain"}},
	rehab.Trained{Did: "some", Drills: []string{"pogo-one"}, Doses: []rehab.Dose{{Drill: "pogo-one", Level: 2}}, Pain: ptr(3), Why: "no time", Stage: "impact", Side: rehab.Left, Minutes: 6, Contacts: 40, Running: 4, Barred: true},
	rehab.Planned{Day: "2026-03-06", Stage: "impact", Side: rehab.Left, Budget: 10, Kit: []string{"band"}, Doses: []rehab.Dose{{Drill: "pogo-one", Level: 2}}, Minutes: 8, Contacts: 40, Running: 4, Shown: true},
	rehab.Worked{What: "training", Effort: 6, Minutes: 90},
	rehab.Adopted{Protocol: hash, Was: "old"},
	rehab.Linked{Account: "robin"},
	rehab.Consented{Version: 2, Given: true, By: rehab.ByGuardian},
	rehab.Scheduled{Session: "match", Start: noon, Minutes: 80, More: []time.Time{noon.AddDate(0, 0, 7)}},
	rehab.Preferred{What: "drills", Says: "18:00"},
	rehab.Moved{Session: "training", From: noon, To: noon.Add(time.Hour)},
	rehab.Cancelled{Session: "match", Start: noon, More: []time.Time{noon.AddDate(0, 0, 7)}},
	rehab.Configured{Changes: []rehab.SettingChange{{What: "report", From: "07:30", To: "08:00"}}},
	rehab.Imported{
		Sessions: []rehab.Filed{{UID: "a", Slot: noon, Session: "match", Start: noon.Add(time.Hour), Minutes: 90, Sequence: 2}},
		Gone:     []rehab.Filed{{UID: "b", Slot: noon, Session: "match", Start: noon.Add(time.Hour), Minutes: 90, Sequence: 2}},
	},
	rehab.Attended{Session: "match", Start: noon, Only: true, Took: []rehab.Took{{Athlete: 7, Minutes: 35}}},
}

func ptr(n int) *int { return &n }

func TestBodies(t *testing.T) {
	share(t, cases{
		"Every body comes back whole":             everyBodyComesBackWhole,
		"Odd text comes back whole":               oddTextComesBackWhole,
		"Unreadable body is an error":             unreadableBodyIsAnError,
		"Instants keep microseconds and order":    instantsKeepMicrosecondsAndOrder,
		"Body that is no JSON is refused at once": bodyThatIsNoJSONIsRefused,
	})
}

func everyBodyComesBackWhole(t *testing.T, q squad) {
	var in []rehab.Entry
	for _, b := range bodies {
		if name := unset(reflect.ValueOf(b)); name != "" {
			t.Fatalf("the %s body leaves %s unset: give it a value, so that its loss would show", b.Kind(), name)
		}
		in = append(in, rehab.Entry{Athlete: q.a.ID, At: noon, Source: "m1", Body: b})
	}
	q.at(noon, func(tx *store.Tx) { ok(t, tx.Append(ctx, in)) })
	q.at(noon, func(tx *store.Tx) {
		for i, e := range must(tx.Entries(ctx, q.a.ID))(t) {
			same(t, string(bodies[i].Kind()), e.Body, bodies[i])
		}
	})
	same(t, "the seq named", must(broken(q, q.a.ID))(t), int64(0))
}

// JSON has no infinity; an entry that holds one is not stored in part.
func bodyThatIsNoJSONIsRefused(t *testing.T, q squad) {
	err := q.try(q.s, noon, func(tx *store.Tx) error {
		e := q.note(q.a.ID, "m1", "")
		e.Body = rehab.Tested{Test: "hop", Trials: []rehab.Trial{{Value: math.Inf(1)}}}
		return tx.Append(ctx, []rehab.Entry{q.note(q.a.ID, "m1", "before"), e})
	})
	if err == nil {
		t.Error("an infinite value was stored")
	}
	same(t, "entries left", rows(t, q.db, `SELECT count(*) FROM entries`), []string{"0"})
}

// unset names a field that is zero in the value and in all of its elements.
func unset(v reflect.Value) string {
	for i := range v.NumField() {
		f, name := v.Field(i), v.Type().Field(i).Name
		if f.IsZero() {
			return name
		}
		if f.Kind() != reflect.Slice || f.Type().Elem().Kind() != reflect.Struct || f.Type().Elem() == reflect.TypeFor[time.Time]() {
			continue
		}
		for j := range f.Type().Elem().NumField() {
			if allZero(f, j) {
				return name + "." + f.Type().Elem().Field(j).Name
			}
		}
	}
	return ""
}

func allZero(list reflect.Value, field int) bool {
	for i := range list.Len() {
		if !list.Index(i).Field(field).IsZero() {
			return false
		}
	}
	return true
}

func oddTextComesBackWhole(t *testing.T, q squad) {
	texts := []string{
		"", " ", "a\x00b", "e\u0301 is not \u00e9", "👩🏽‍⚕️", "\u202eright to left", "line\u2028line\r\n\ttab", `"quoted" \ <b> & 'single'`,
		"\ufeffmark", "\uffff", "\U0010ffff", "Ngāti ſ İ ı ß", "$1 ? :name %s", strings.Repeat("ā", 4000),
	}
	q.at(noon, func(tx *store.Tx) {
		for _, text := range texts {
			decided := q.note(q.a.ID, "m1", "")
			decided.Body = rehab.Decided{Action: rehab.Stay, Protocol: hash, Reason: text, Evidence: []rehab.Seen{{Says: text}}}
			ok(t, tx.Append(ctx, []rehab.Entry{q.note(q.a.ID, "m1", text), decided}))
		}
	})
	q.at(noon, func(tx *store.Tx) {
		entries := must(tx.Entries(ctx, q.a.ID))(t)
		for i, text := range texts {
			same(t, fmt.Sprintf("note %q", text), entries[2*i].Body, rehab.Noted{Text: text})
			d := entries[2*i+1].Body.(rehab.Decided)
			same(t, fmt.Sprintf("decision %q", text), []string{d.Reason, d.Evidence[0].Says}, []string{text, text})
		}
	})
	same(t, "the seq named", must(broken(q, q.a.ID))(t), int64(0))
}

// A body this program cannot read is an error, never an entry left out.
func unreadableBodyIsAnError(t *testing.T, q squad) {
	for i, c := range []struct{ change, says string }{
		{`version = 2`, "newer"}, {`kind = 'divined'`, "divined"}, {`body = '{'`, "decoding"},
	} {
		athlete := logged(q, 20+i)
		exec(t, q.db, `UPDATE entries SET `+c.change+` WHERE seq = 4 AND athlete_id = $1`, athlete)
		q.at(noon, func(tx *store.Tx) {
			if _, err := tx.Entries(ctx, athlete); err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("reading with %s gave %v", c.change, err)
			}
		})
	}
}

func instantsKeepMicrosecondsAndOrder(t *testing.T, q squad) {
	in := []time.Time{
		time.Date(1949, 12, 31, 23, 59, 59, 0, time.UTC),
		time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC),
		time.Date(2026, 3, 2, 12, 0, 0, 1000, time.UTC),
		time.Date(2026, 3, 2, 12, 0, 0, 100000000, time.UTC), // zeros at the end must not be cut
		time.Date(2026, 3, 2, 12, 0, 0, 120000999, time.UTC),
		time.Date(2026, 3, 2, 12, 0, 0, 999999000, time.UTC),
		time.Date(2026, 3, 3, 1, 0, 1, 0, time.FixedZone("there", 13*3600)), // 12:00:01 in UTC
		time.Date(2026, 3, 2, 11, 0, 2, 0, time.FixedZone("west", -3600)),
		time.Date(9999, 12, 31, 23, 59, 59, 999999000, time.UTC),
	}
	slices.Reverse(in) // so that seq and time disagree
	q.at(noon, func(tx *store.Tx) {
		for _, at := range in {
			ok(t, tx.Append(ctx, []rehab.Entry{{Athlete: q.a.ID, At: at, Source: "m1", Body: rehab.Noted{}}}))
		}
	})
	q.at(noon, func(tx *store.Tx) {
		for i, e := range must(tx.Entries(ctx, q.a.ID))(t) {
			same(t, "an instant", e.At, in[i].UTC().Truncate(time.Microsecond))
		}
	})
	same(t, "seqs by time", rows(t, q.db, `SELECT seq FROM entries ORDER BY happened_at`), []string{"9", "8", "7", "6", "5", "4", "3", "2", "1"})
}
