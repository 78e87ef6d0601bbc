package plan

// option is a drill at its level as the choice sees it. Options of one quality stand together, the best first.
type option struct {
	quality           string
	points            int // > 0
	minutes, contacts int
	balances, runs    bool
}

// bounds are what a choice has to keep.
type bounds struct {
	minutes, contacts int
	balance           bool  // at least one drill that balances
	again             []int // per cent that the first, second, … option of a quality counts; the last goes on; 100 when empty
}

// Ties: of choices worth the same the one with fewer contacts wins, then the one with fewer minutes, then
// the one that takes the earlier option. The first two are summed with the points, well apart.
const (
	pointUnit   = 1 << 20 // above any sum of contacts
	contactUnit = 1 << 8  // above any sum of minutes
	impossible  = -1 << 60
)

// choose finds the best choice exactly; nil when none keeps the bounds. See the package comment.
func choose(opts []option, b bounds) []int {
	if b.minutes < 0 {
		return nil
	}
	if len(b.again) == 0 {
		b.again = []int{100}
	}
	t := newTable(opts, b)
	within := t.reached()
	for i := len(opts) - 1; i >= 0; i-- {
		t.fill(i, within[i])
	}
	return t.walk()
}

// table holds the best that the options from one on can still add, for every state: how many of the
// running quality were taken, minutes and contacts left, whether balance is still owed, whether running
// was taken.
type table struct {
	opts  []option
	b     bounds
	unit  int // all contacts are multiples of it
	m, c  int // minutes, and contacts in units, left at the start: no more than all options take together
	next  []int
	best  []int
	taken [][]bool
}

func newTable(opts []option, b bounds) *table {
	t := &table{opts: opts, b: b, unit: 0}
	minutes, contacts := 0, 0
	for _, o := range opts {
		t.unit = gcd(t.unit, o.contacts)
		minutes, contacts = minutes+o.minutes, contacts+o.contacts
	}
	t.unit = max(t.unit, 1)
	t.m, t.c = min(b.minutes, minutes), min(max(0, b.contacts), contacts)/t.unit
	size := len(b.again) * (t.m + 1) * (t.c + 1) * 4
	t.next, t.best = make([]int, size), make([]int, size)
	t.taken = make([][]bool, len(opts))
	for s := range t.next {
		if s&1 == 1 { // balance still owed with nothing left to choose from
			t.next[s] = impossible
		}
	}
	return t
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// at is the place of a state: k of the quality taken, m minutes and c units of contacts left.
func (t *table) at(k, m, c int, ran, owed bool) int {
	s := ((k*(t.m+1)+m)*(t.c+1) + c) << 2
	if ran {
		s |= 2
	}
	if owed {
		s |= 1
	}
	return s
}

// kept is how many of the quality count as taken when the options go on from i to i+1.
func (t *table) kept(i, k int) int {
	if i+1 < len(t.opts) && t.opts[i+1].quality != t.opts[i].quality {
		return 0
	}
	return min(k, len(t.b.again)-1)
}

// reach bounds the states in which option i can be met: the earlier options leave at least so many
// minutes and units of contacts, so many of its quality may have been taken, and these flags may stand.
type reach struct {
	m, c, k int
	flags   []int
}

// reached works out the reach of every option, so that fill leaves out what no choice comes to.
func (t *table) reached() []reach {
	out := make([]reach, len(t.opts))
	minutes, units, before := 0, 0, 0
	ran, paid := false, !t.b.balance
	for i, o := range t.opts {
		if i > 0 && t.opts[i-1].quality != o.quality {
			before = 0
		}
		out[i] = reach{m: max(0, t.m-minutes), c: max(0, t.c-units), k: min(before, len(t.b.again)-1)}
		for flags := range 4 {
			if (flags&2 == 0 || ran) && (flags&1 == 0 && paid || flags&1 == 1 && t.b.balance) {
				out[i].flags = append(out[i].flags, flags)
			}
		}
		minutes, units, before = minutes+o.minutes, units+o.contacts/t.unit, before+1
		ran, paid = ran || o.runs, paid || o.balances
	}
	return out
}

// fill works out the layer of option i from the one after it, in the states that can be reached.
func (t *table) fill(i int, within reach) {
	o := t.opts[i]
	t.taken[i] = make([]bool, len(t.best))
	units := o.contacts / t.unit
	for k := range within.k + 1 {
		worth := o.points*t.b.again[k]*pointUnit - o.contacts*contactUnit - o.minutes
		skip, take := t.kept(i, k), t.kept(i, k+1)
		for m := within.m; m <= t.m; m++ {
			for c := within.c; c <= t.c; c++ {
				for _, flags := range within.flags {
					ran, owed := flags&2 != 0, flags&1 != 0
					s := t.at(k, m, c, ran, owed)
					t.best[s] = t.next[t.at(skip, m, c, ran, owed)]
					if o.minutes > m || units > c || o.runs && ran {
						continue
					}
					after := t.next[t.at(take, m-o.minutes, c-units, ran || o.runs, owed && !o.balances)]
					if after > impossible && after+worth >= t.best[s] {
						t.best[s], t.taken[i][s] = after+worth, true
					}
				}
			}
		}
	}
	t.next, t.best = t.best, t.next
}

// walk reads the best choice off the layers, from the first option on.
func (t *table) walk() []int {
	k, m, c, ran, owed := 0, t.m, t.c, false, t.b.balance
	if t.next[t.at(k, m, c, ran, owed)] <= impossible {
		return nil
	}
	var picked []int
	for i, o := range t.opts {
		if t.taken[i][t.at(k, m, c, ran, owed)] {
			picked = append(picked, i)
			m, c, ran, owed = m-o.minutes, c-o.contacts/t.unit, ran || o.runs, owed && !o.balances
			k = t.kept(i, k+1)
		} else {
			k = t.kept(i, k)
		}
	}
	return picked
}
