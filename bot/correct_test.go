package bot_test

import (
	"strings"
	"testing"
	"time"

	"footing/bot"
	"footing/rehab"
)

// corrections lists what staff were told beside the reports.
func corrections(r *rig) []string {
	var out []string
	for _, text := range reports(r) {
		if says, ok := strings.CutPrefix(text, "staff: Correction: "); ok {
			out = append(out, says)
		}
	}
	return out
}

// morning moves the clock to the report and lets it go out.
func (r *rig) morning(t *testing.T) {
	t.Helper()
	r.now = breakfast
	if err := r.Tick(t.Context()); err != nil {
		t.Fatal(err)
	}
}

// However an availability comes to change after breakfast, staff are told, and told once.
func TestEveryWayToChangeIsCorrected(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.say(t, "sprain 7 left")
		r.say(t, "unavailable 12 illness")
		r.morning(t)
		for _, step := range []struct {
			do   func()
			says string // the correction, "" for none
		}{
			{func() { r.say(t, "screen 7 "+strings.TrimPrefix(cleared, "sprain 7 left match ")) }, ""}, // as unavailable as before
			{func() { r.say(t, "advance 7: moves well") }, ""},                                         // what they may do alone changes no training
			{func() { r.say(t, "advance 7: moves well") }, "7 Mere Tau now modified. Can: standing skills. Cannot: run, jump, contact."},
			{func() { r.say(t, "step-back 7 sore") }, "7 Mere Tau now unavailable. Can: own programme only. Cannot: team training."},
			{func() { r.say(t, "undo") }, "7 Mere Tau now modified. Can: standing skills. Cannot: run, jump, contact."},
			{func() { r.say(t, "screen 7 deformity") }, "7 Mere Tau now unavailable. Cannot: team training."},
			{func() { r.say(t, "lift-hold 7 lateral: films clear") }, "7 Mere Tau now modified. Can: standing skills. Cannot: run, jump, contact."},
			{func() { r.say(t, "available 12") }, "12 Joss Okafor now full."},
			{func() { r.say(t, "modified 12 no contact") }, "12 Joss Okafor now modified. Cannot: contact."},
			{func() { r.edit(t, "modified 12 no contact, no sprinting") }, "12 Joss Okafor still modified. Cannot: contact, sprinting."},
			{func() { r.edit(t, "modified 12 no sprinting, no contact") }, ""},
			{func() { r.edit(t, "modified 7 no sprinting") }, "7 Mere Tau still modified. Can: standing skills. Cannot: run, jump, contact, sprinting.|12 Joss Okafor now full."},
			{func() { r.delete(t) }, ""},
			{func() { r.press(t, "Void", "sam", medical) }, "7 Mere Tau still modified. Can: standing skills. Cannot: run, jump, contact."},
			{func() { r.say(t, "add 31 Pia Lund\nsprain 31 left") }, "31 Pia Lund now unavailable. Cannot: team training."},
			{func() { r.say(t, "note 7: slept badly\nmodified 12 no scrums") }, "12 Joss Okafor now modified. Cannot: scrums."},
			{func() { r.edit(t, "note 7: slept badly\n") }, "12 Joss Okafor now full."}, // the line taken out
			{func() { r.say(t, "note 12: slept well") }, ""},
		} {
			before := len(corrections(r))
			step.do()
			if got := strings.Join(corrections(r)[before:], "|"); got != step.says {
				t.Errorf("staff were told %q, not %q", got, step.says)
			}
		}
	})
}

// edit and delete are of the last message said.
func (r *rig) edit(t *testing.T, text string) { r.again(t, bot.Edited, text) }

func (r *rig) delete(t *testing.T) { r.again(t, bot.Deleted, "") }

func (r *rig) again(t *testing.T, kind bot.Kind, text string) {
	t.Helper()
	in := r.message(text)
	r.n--
	in.Kind, in.Message = kind, r.last()
	r.send(t, in)
}

// One event handed over twice, or one that could not be said at first, is one correction.
func TestACorrectionIsSaidOnce(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.morning(t)
		in := r.message("unavailable 12 illness")
		r.chat.fails = 2 // its reply and its correction
		r.send(t, in)
		r.start(t)
		r.send(t, in)
		if got := corrections(r); len(got) != 0 {
			t.Errorf("said while the chat side was away: %q", got)
		}
		r.now = r.now.Add(time.Minute)
		for range 2 {
			if err := r.Tick(t.Context()); err != nil {
				t.Fatal(err)
			}
		}
		if got := corrections(r); len(got) != 1 || got[0] != "12 Joss Okafor now unavailable." {
			t.Errorf("corrections: %q", got)
		}
	})
}

// Nothing is corrected that was not told today: before the report, after a missed one, past midnight.
func TestNoCorrectionWithoutAReportToday(t *testing.T) {
	for what, at := range map[string]time.Time{
		"before the report":  breakfast.Add(-time.Minute),
		"past midnight":      time.Date(2026, 3, 3, 11, 1, 0, 0, time.UTC), // 00:01 in Auckland
		"after a missed one": breakfast.Add(24*time.Hour + rehab.Grace + time.Minute),
	} {
		t.Run(what, func(t *testing.T) {
			each(t, func(t *testing.T, r *rig) {
				if at.After(breakfast) {
					r.morning(t)
				}
				r.now = at
				if err := r.Tick(t.Context()); err != nil {
					t.Fatal(err)
				}
				r.say(t, "unavailable 12 illness")
				if got := corrections(r); len(got) != 0 {
					t.Errorf("corrections: %q", got)
				}
			})
		})
	}
}
