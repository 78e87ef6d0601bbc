package rehab_test

import (
	"fmt"
	"testing"

	"footing/rehab"
)

// The comparator ladder: own baseline of that side, then the other side, then only a floor, then
// nothing. Each row is what is on record besides 9 cm to the wall, or 18 raises, on day 2.
func TestComparatorLadder(t *testing.T) {
	baseline := func(daysBefore int, says ...string) func(*chart) {
		return func(c *chart) {
			ep := c.episode
			c.episode = 0
			c.test(after(-24*float64(daysBefore)), says...)
			c.episode = ep
		}
	}
	both := func(f ...func(*chart)) func(*chart) {
		return func(c *chart) {
			for _, g := range f {
				g(c)
			}
		}
	}
	now := func(says ...string) func(*chart) { return func(c *chart) { c.test(day(2), says...) } }
	// otherSprain is a second ankle, or the same again, sprained so many days before or after.
	otherSprain := func(side rehab.Side, days int) func(*chart) {
		return func(c *chart) {
			c.episode = 2
			c.log(after(24*float64(days)), rehab.Sprained{Side: side, Protocol: ankle.Hash})
			c.episode = 1
		}
	}
	// brought is what the player told on day 1 of the time before.
	brought := func(p rehab.Past) func(*chart) {
		return func(c *chart) {
			ep := c.episode
			c.episode = 0
			c.log(day(1), p)
			c.episode = ep
		}
	}
	for _, r := range []struct {
		what, test string
		log        func(*chart)
		want       string
	}{
		{"pre-season baseline of that side", "knee-to-wall", baseline(60, "knee-to-wall L 12"), "own baseline 12"},
		{"baseline and the other side: the baseline goes first", "knee-to-wall", both(baseline(60, "knee-to-wall L 12"), now("knee-to-wall R 13")), "own baseline 12"},
		{"two baselines: the later", "knee-to-wall", both(baseline(300, "knee-to-wall L 11"), baseline(60, "knee-to-wall L 12")), "own baseline 12"},
		{"the best of the baseline day", "knee-to-wall", baseline(60, "knee-to-wall L 11 12 x"), "own baseline 12"},
		{"baseline a day inside the limit", "knee-to-wall", baseline(399, "knee-to-wall L 12"), "own baseline 12"},
		{"baseline too old: the other side", "knee-to-wall", both(baseline(401, "knee-to-wall L 12"), now("knee-to-wall R 13")), "other side 13"},
		{"baseline too old and nothing else", "knee-to-wall", baseline(401, "knee-to-wall L 12"), " 0"},
		{"the injured side itself since the sprain is no baseline", "knee-to-wall", func(c *chart) { c.test(day(1), "knee-to-wall L 8") }, " 0"},
		{"a baseline of the other side only is not this side's", "knee-to-wall", baseline(60, "knee-to-wall R 13"), " 0"},
		{"baseline not done: the other side", "knee-to-wall", both(baseline(60, "knee-to-wall L not-done: no wall"), now("knee-to-wall R 13")), "other side 13"},
		{"baseline failed every time, so it has no value: the other side", "knee-to-wall", both(baseline(60, "knee-to-wall L x x"), now("knee-to-wall R 13")), "other side 13"},
		{"measured while an earlier sprain was treated: no baseline", "knee-to-wall", func(c *chart) {
			c.episode = 9
			c.test(after(-24*60), "knee-to-wall L 10")
			c.episode = 1
			c.test(day(2), "knee-to-wall R 13")
		}, "other side 13"},
		{"the other side", "knee-to-wall", now("knee-to-wall R 13"), "other side 13"},
		{"the other side, itself sprained last year", "knee-to-wall", both(otherSprain(rehab.Right, -300), now("knee-to-wall R 13")), "other side 13 (that side was sprained too)"},
		{"the other side, under treatment as well", "knee-to-wall", both(otherSprain(rehab.Right, 1), now("knee-to-wall R 13")), "other side 13 (that side was sprained too)"},
		{"this side sprained before says nothing against the other", "knee-to-wall", both(otherSprain(rehab.Left, -300), now("knee-to-wall R 13")), "other side 13"},
		{"the other side, sprained before it was known here", "knee-to-wall", both(brought(rehab.Past{Side: rehab.Right, Sprains: 1}), now("knee-to-wall R 13")), "other side 13 (that side was sprained before)"},
		{"the other side, operated on", "knee-to-wall", both(brought(rehab.Past{Side: rehab.Right, Surgery: true}), now("knee-to-wall R 13")), "other side 13 (that side was operated on)"},
		{"both sides sprained before", "knee-to-wall", both(brought(rehab.Past{Sprains: 3}), now("knee-to-wall R 13")), "other side 13 (that side was sprained before)"},
		{"said in two entries, of which the later names other things", "knee-to-wall", both(brought(rehab.Past{Side: rehab.Right, Sprains: 2}), brought(rehab.Past{Side: rehab.Right, Lax: true}), now("knee-to-wall R 13")), "other side 13 (that side was sprained before)"},
		{"said, then corrected to nothing", "knee-to-wall", both(brought(rehab.Past{Side: rehab.Right, Sprains: 2}), brought(rehab.Past{Side: rehab.Right}), now("knee-to-wall R 13")), "other side 13"},
		{"loose joints are loose on both sides", "knee-to-wall", both(brought(rehab.Past{Side: rehab.Right, Lax: true}), now("knee-to-wall R 13")), "other side 13"},
		{"this side's past says nothing against the other", "knee-to-wall", both(brought(rehab.Past{Side: rehab.Left, Sprains: 2, Surgery: true}), now("knee-to-wall R 13")), "other side 13"},
		{"a baseline is the side's own: the other side's past does not matter", "knee-to-wall", both(baseline(60, "knee-to-wall L 12"), brought(rehab.Past{Side: rehab.Right, Sprains: 2})), "own baseline 12"},
		{"only a floor", "calf-raise", now(), "floor 0"},
		{"the other side not done: only a floor", "calf-raise", now("calf-raise R not-done: cramp"), "floor 0"},
		{"nothing", "knee-to-wall", now(), " 0"},
		{"the other side not done, no floor: nothing", "knee-to-wall", now("knee-to-wall R not-done: cramp"), " 0"},
	} {
		t.Run(r.what, func(t *testing.T) {
			c := sprain(t, adult)
			r.log(c)
			c.test(day(2), map[string]string{"knee-to-wall": "knee-to-wall L 9", "calf-raise": "calf-raise L 18"}[r.test])
			st := rehab.Fold(c.athlete, c.entries)
			test := find(t, r.test)
			all := rehab.Days(st.Readings, test, rehab.Left, func(r rehab.Reading) bool { return !r.At.Before(injury) }, injury.Location())
			cmp := rehab.Compare(st, st.Episodes[0], test, all[len(all)-1], ankle, injury.Location())
			got := fmt.Sprintf("%s %g", cmp.Used, cmp.With.Value.Value)
			if cmp.Flag != "" {
				got += " (" + cmp.Flag + ")"
			}
			want(t, r.what, got, r.want, practice)
		})
	}
}
