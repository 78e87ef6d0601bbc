package rehab_test

import (
	"testing"
	"time"

	"footing/rehab"
)

// am is one morning's answer at nine, so many days after the sprain.
type am struct {
	day      int
	pain     int
	swelling string
	limp     bool
}

// The response rule: worse when pain is 2 above yesterday, or 2 above the lowest of the last 7
// mornings, or 4 and more after Settle, or swelling is up, or there is a limp.
func TestWorseMorning(t *testing.T) {
	const farrar = "Farrar 2001 Pain 94:149 [V2]"
	const settle, later = false, true
	for _, r := range []struct {
		what     string
		settled  bool
		mornings []am
		want     string
		source   string
	}{
		{"the first answer, pain 3", settle, []am{{1, 3, "same", false}}, "not worse", practice},
		{"pain as yesterday", settle, []am{{1, 3, "same", false}, {2, 3, "same", false}}, "not worse", practice},
		{"1 above yesterday", settle, []am{{1, 3, "same", false}, {2, 4, "same", false}}, "not worse", farrar},
		{"2 above yesterday", settle, []am{{1, 3, "same", false}, {2, 5, "same", false}}, "worse: pain 5, 2 above yesterday", farrar},
		{"3 above yesterday", settle, []am{{1, 0, "less", false}, {2, 3, "less", false}}, "worse: pain 3, 3 above yesterday", farrar},
		{"below yesterday", later, []am{{1, 3, "same", false}, {2, 1, "less", false}}, "not worse", practice},
		{"creeping up by 1 a day, 2 above the week's lowest", later, []am{{1, 1, "", false}, {2, 2, "", false}, {3, 3, "", false}}, "worse: pain 3, 2 above the week's lowest", farrar},
		{"1 above the week's lowest", later, []am{{1, 2, "", false}, {2, 3, "", false}, {3, 3, "", false}}, "not worse", farrar},
		{"no answer yesterday, 2 above the day before", later, []am{{1, 1, "", false}, {3, 3, "", false}}, "worse: pain 3, 2 above the week's lowest", practice},
		{"the lowest was 7 mornings ago: still in the week", later, []am{{1, 0, "", false}, {8, 2, "", false}}, "worse: pain 2, 2 above the week's lowest", practice},
		{"the lowest was 8 mornings ago: no longer", later, []am{{1, 0, "", false}, {9, 2, "", false}}, "not worse", practice},
		{"pain 4 in Settle, as yesterday", settle, []am{{1, 4, "same", false}, {2, 4, "same", false}}, "not worse", practice},
		{"pain 4 after Settle, as yesterday", later, []am{{1, 4, "same", false}, {2, 4, "same", false}}, "worse: pain 4", practice},
		{"pain 3 after Settle, as yesterday", later, []am{{1, 3, "same", false}, {2, 3, "same", false}}, "not worse", practice},
		{"pain 5 in Settle, the first answer: tolerated", settle, []am{{1, 5, "", false}}, "not worse", practice},
		{"pain 6 in Settle, the first answer: more than drills may hurt", settle, []am{{1, 6, "", false}}, "worse: pain 6", practice},
		{"pain 9 in Settle, below yesterday, less swelling", settle, []am{{1, 10, "same", false}, {2, 9, "less", false}}, "worse: pain 9", practice},
		{"swelling up, pain down", later, []am{{1, 3, "same", false}, {2, 1, "more", false}}, "worse: swelling up", practice},
		{"swelling not asked", later, []am{{1, 1, "", false}, {2, 1, "", false}}, "not worse", practice},
		{"a limp, no pain", later, []am{{1, 0, "same", false}, {2, 0, "same", true}}, "worse: limp", practice},
		{"everything at once", later, []am{{1, 1, "same", false}, {2, 5, "more", true}}, "worse: pain 5, 4 above yesterday, swelling up, limp", practice},
		{"worse yesterday, well today: only the last morning is read", later, []am{{1, 1, "same", false}, {2, 6, "more", true}, {3, 1, "less", false}}, "not worse", practice},
		{"two answers of one day: the later corrects, to well", later, []am{{1, 1, "same", false}, {2, 5, "more", false}, {2, 1, "same", false}}, "not worse", practice},
		{"two answers of one day: the later corrects, to worse", later, []am{{1, 1, "same", false}, {2, 1, "same", false}, {2, 3, "same", false}}, "worse: pain 3, 2 above yesterday", practice},
		{"yesterday's answer was corrected upwards: compared with the correction", later, []am{{1, 0, "", false}, {1, 2, "", false}, {2, 3, "", false}}, "not worse", practice},
	} {
		t.Run(r.what, func(t *testing.T) {
			c := sprain(t, adult)
			last := 0
			for i, m := range r.mornings {
				c.log(day(m.day).Add(time.Duration(i)*time.Minute), rehab.Responded{Pain: m.pain, Swelling: m.swelling, Limp: m.limp})
				last = m.day
			}
			m := rehab.LastMorning(rehab.Fold(c.athlete, c.entries).Episodes[0], ankle, r.settled, injury, day(last).Add(time.Hour))
			got := "not worse"
			if m.Worse {
				got = "worse: " + m.Why
			}
			if !m.Known || !m.Fresh {
				t.Errorf("answered within the hour, yet known %t and fresh %t", m.Known, m.Fresh)
			}
			want(t, r.what, got, r.want, r.source)
		})
	}
}

// A missing answer is unknown, never fine, and an old one is not the last morning.
func TestUnknownMorning(t *testing.T) {
	read := func(c *chart, now time.Time) rehab.Morning { return c.view(now).Morning }
	c := sprain(t, adult)
	if m := read(c, day(1)); m.Known || m.Fresh {
		t.Error("nobody answered, yet the morning is known")
	}
	c.log(day(1), rehab.Responded{Pain: 1})
	for _, r := range []struct {
		what  string
		hours float64
		fresh bool
	}{{"the same day", 5, true}, {"36 hours after", 36, true}, {"a minute later", 36.02, false}, {"three days after", 72, false}} {
		m := read(c, day(1).Add(time.Duration(r.hours*float64(time.Hour))))
		if !m.Known || m.Fresh != r.fresh {
			t.Errorf("%s: known %t, fresh %t, want fresh %t (%s)", r.what, m.Known, m.Fresh, r.fresh, practice)
		}
	}
	if m := read(c, day(4)); m.Worse {
		t.Error("an old answer that was fine has become worse by itself")
	}

	c.log(day(2), rehab.Sprained{Side: rehab.Left, Again: true})
	if m := read(c, day(2).Add(time.Hour)); m.Known {
		t.Error("an answer from before the new sprain counts for the new injury")
	}
	c.log(day(3), rehab.Responded{Pain: 3})
	if m := read(c, day(3)); m.Worse {
		t.Errorf("compared with a morning before the new sprain: %s", m.Why)
	}
}

// Staff may enter the answer, and it counts; an edit keeps the morning it was about.
func TestMorningByStaffAndEdited(t *testing.T) {
	c := sprain(t, adult)
	c.log(day(1), rehab.Responded{Pain: 1, ByStaff: true})
	seq := c.log(day(2), rehab.Responded{Pain: 5})
	if m := c.view(day(2)).Morning; !m.Worse {
		t.Error("4 above what staff entered yesterday, and not worse")
	}
	c.edit(seq, day(2).Add(time.Hour), rehab.Responded{Pain: 2})
	if m := c.view(day(2).Add(time.Hour)).Morning; m.Worse || m.Answer.Pain != 2 {
		t.Errorf("edited to pain 2: worse %t, pain %d", m.Worse, m.Answer.Pain)
	}
}

// Yesterday is the team's own yesterday: 23:30 and 00:30 in Auckland are two mornings' days.
func TestMorningsAreTheTeamsOwnDays(t *testing.T) {
	auckland, err := time.LoadLocation("Pacific/Auckland")
	if err != nil {
		t.Fatal(err)
	}
	c := sprain(t, adult)
	c.log(time.Date(2026, 3, 9, 19, 0, 0, 0, time.UTC), rehab.Responded{Pain: 0}) // 10 March, 08:00
	c.log(time.Date(2026, 3, 10, 19, 0, 0, 0, time.UTC), rehab.Responded{Pain: 2})
	now := time.Date(2026, 3, 10, 20, 0, 0, 0, time.UTC)
	m := c.view(now.In(auckland)).Morning
	want(t, "two mornings in Auckland", m.Date.Format("2 Jan")+" "+m.Why, "11 Mar pain 2, 2 above yesterday", practice)
}
