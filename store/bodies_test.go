package store_test

import (
	"fmt"
	"reflect"
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
	rehab.Tested{Test: "wbl", Side: rehab.Right, Trials: []rehab.Trial{{Value: 10.25}, {Value: 0.1, Failed: true}, {Value: 30, Capped: true}}, Choice: "smooth", Absent: "not-done", Reason: "sore"},
	rehab.Responded{Pain: 3, Swelling: "more", Limp: true, Alarms: []string{"gave-way"}, ByStaff: true},
	rehab.Decided{Action: rehab.StepBack, From: "load", To: "calm", Reason: "worse", Protocol: hash, Evidence: []rehab.Seen{{Criterion: "wbl", Status: rehab.NotMet, Says: "wbl 8 cm", Seqs: []int64{3, 5}}}},
	rehab.Noted{Text: "ice"},
}

func TestEveryBodyComesBackWhole(t *testing.T) {
	for _, b := range bodies {
		if name := unset(reflect.ValueOf(b)); name != "" {
			t.Fatalf("the %s body leaves %s unset: give it a value, so that its loss would show", b.Kind(), name)
		}
	}
	each(t, func(t *testing.T, q squad) {
		var in []rehab.Entry
		for _, b := range bodies {
			in = append(in, rehab.Entry{Athlete: q.a.ID, At: noon, Source: "m1", Body: b})
		}
		q.at(noon, func(tx *store.Tx) { ok(t, tx.Append(ctx, in)) })
		q.at(noon, func(tx *store.Tx) {
			for i, e := range must(tx.Entries(ctx, q.a.ID))(t) {
				same(t, string(bodies[i].Kind()), e.Body, bodies[i])
			}
			same(t, "the broken seq", must(tx.VerifyChain(ctx, q.a.ID))(t), int64(0))
		})
	})
}

// unset names a field that is zero in the value and in all of its elements.
func unset(v reflect.Value) string {
	for i := range v.NumField() {
		f, name := v.Field(i), v.Type().Field(i).Name
		if f.IsZero() {
			return name
		}
		if f.Kind() != reflect.Slice || f.Type().Elem().Kind() != reflect.Struct {
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

func TestOddTextComesBackWhole(t *testing.T) {
	texts := []string{
		"", " ", "a\x00b", "e\u0301 is not \u00e9", "👩🏽‍⚕️", "\u202eright to left", "line\u2028line\r\n\ttab", `"quoted" \ <b> & 'single'`,
		"\ufeffmark", "\uffff", "\U0010ffff", "Ngāti ſ İ ı ß", "$1 ? :name %s", strings.Repeat("ā", 4000),
	}
	each(t, func(t *testing.T, q squad) {
		q.at(noon, func(tx *store.Tx) {
			for _, text := range texts {
				ok(t, tx.Append(ctx, []rehab.Entry{
					q.note(q.a.ID, "m1", text),
					{Athlete: q.a.ID, At: noon, Source: "m1", Body: rehab.Decided{Action: rehab.Stay, Protocol: hash, Reason: text, Evidence: []rehab.Seen{{Says: text}}}},
				}))
			}
		})
		q.at(noon, func(tx *store.Tx) {
			entries := must(tx.Entries(ctx, q.a.ID))(t)
			for i, text := range texts {
				same(t, fmt.Sprintf("note %q", text), entries[2*i].Body, rehab.Noted{Text: text})
				d := entries[2*i+1].Body.(rehab.Decided)
				same(t, fmt.Sprintf("decision %q", text), []string{d.Reason, d.Evidence[0].Says}, []string{text, text})
			}
			same(t, "the broken seq", must(tx.VerifyChain(ctx, q.a.ID))(t), int64(0))
		})
	})
}

// A body this program cannot read is an error, never an entry left out.
func TestUnreadableBodyIsAnError(t *testing.T) {
	for _, c := range []struct{ change, says string }{
		{`version = 2`, "newer"}, {`kind = 'divined'`, "divined"}, {`body = '{'`, "decoding"},
	} {
		t.Run(c.change, func(t *testing.T) {
			each(t, func(t *testing.T, q squad) {
				q.at(noon, func(tx *store.Tx) { ok(t, tx.Append(ctx, []rehab.Entry{q.note(q.a.ID, "m1", "x")})) })
				exec(t, q.raw(), `UPDATE entries SET `+c.change)
				q.at(noon, func(tx *store.Tx) {
					if _, err := tx.Entries(ctx, q.a.ID); err == nil || !strings.Contains(err.Error(), c.says) {
						t.Errorf("reading gave %v", err)
					}
				})
			})
		})
	}
}

func TestInstantsKeepMicrosecondsAndOrder(t *testing.T) {
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
	each(t, func(t *testing.T, q squad) {
		q.at(noon, func(tx *store.Tx) {
			for i := range in { // stored latest first, so that id and time disagree
				at := in[len(in)-1-i]
				ok(t, tx.Append(ctx, []rehab.Entry{{Athlete: q.a.ID, At: at, Source: "m1", Body: rehab.Noted{}}}))
			}
		})
		q.at(noon, func(tx *store.Tx) {
			for i, e := range must(tx.Entries(ctx, q.a.ID))(t) {
				same(t, "an instant", e.At, in[len(in)-1-i].UTC().Truncate(time.Microsecond))
			}
		})
		same(t, "seqs by time", rows(t, q.raw(), `SELECT seq FROM entries ORDER BY happened_at`), []string{"9", "8", "7", "6", "5", "4", "3", "2", "1"})
	})
}
