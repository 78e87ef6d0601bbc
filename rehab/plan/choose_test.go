package plan

import (
	"cmp"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// found is a set of options as the stated rules judge it.
type found struct {
	set                       []int
	points, contacts, minutes int
}

// judge applies the rules of the package comment to one set, and nothing of how choose works.
func judge(opts []option, b bounds, set []int) (found, bool) {
	f := found{set: set}
	taken := map[string]int{}
	balances, runs := false, 0
	for _, i := range set {
		o := opts[i]
		f.points += o.points * b.again[min(taken[o.quality], len(b.again)-1)]
		taken[o.quality]++
		f.minutes += o.minutes
		f.contacts += o.contacts
		balances = balances || o.balances
		if o.runs {
			runs++
		}
	}
	return f, f.minutes <= b.minutes && f.contacts <= max(0, b.contacts) && runs <= 1 && (balances || !b.balance)
}

// better orders two sets: points, then fewer contacts, then fewer minutes, then the earlier option.
func better(x, y found) bool {
	return cmp.Or(cmp.Compare(y.points, x.points), cmp.Compare(x.contacts, y.contacts), cmp.Compare(x.minutes, y.minutes), earlier(x.set, y.set)) < 0
}

// earlier prefers the set that takes an option where the other, alike so far, does not.
func earlier(x, y []int) int {
	for k := range max(len(x), len(y)) {
		switch {
		case k >= len(x):
			return 1
		case k >= len(y):
			return -1
		case x[k] != y[k]:
			return cmp.Compare(x[k], y[k])
		}
	}
	return 0
}

// byHand tries every set.
func byHand(opts []option, b bounds) []int {
	var best found
	any := false
	for mask := range 1 << len(opts) {
		var set []int
		for i := range opts {
			if mask>>i&1 == 1 {
				set = append(set, i)
			}
		}
		if f, ok := judge(opts, b, set); ok && (!any || better(f, best)) {
			best, any = f, true
		}
	}
	return best.set
}

// byOrder is the order in which options are handed over: by quality, the best first, then by what stands
// for the key here.
func byOrder(x, y option) int {
	return cmp.Or(cmp.Compare(x.quality, y.quality), cmp.Compare(y.points, x.points), cmp.Compare(x.minutes, y.minutes), cmp.Compare(x.contacts, y.contacts), cmp.Compare(flags(x), flags(y)))
}

func flags(o option) (n int) {
	if o.balances {
		n = 1
	}
	if o.runs {
		n += 2
	}
	return n
}

func drawOptions(t *rapid.T) []option {
	step := rapid.SampledFrom([]int{1, 3, 5, 10}).Draw(t, "contacts come in")
	n := rapid.IntRange(0, 10).Draw(t, "options")
	out := make([]option, n)
	for i := range out {
		quality := rapid.SampledFrom([]string{"a", "b", "c"}).Draw(t, "quality")
		out[i] = option{
			quality: quality, points: rapid.IntRange(1, 6).Draw(t, "points"), minutes: rapid.IntRange(0, 4).Draw(t, "minutes"),
			contacts: step * rapid.SampledFrom([]int{0, 0, 1, 2, 4}).Draw(t, "contacts"), balances: quality == "b", runs: rapid.IntRange(0, 4).Draw(t, "runs") == 0,
		}
	}
	slices.SortStableFunc(out, byOrder)
	return out
}

func drawBounds(t *rapid.T) bounds {
	return bounds{
		minutes: rapid.IntRange(-1, 12).Draw(t, "minutes there are"), contacts: rapid.IntRange(-5, 40).Draw(t, "contacts allowed"),
		balance: rapid.Bool().Draw(t, "balance owed"), again: rapid.SampledFrom([][]int{{100, 50, 25}, {100}, {100, 50}, {100, 100, 0}, {60, 60, 30, 10}}).Draw(t, "again"),
	}
}

// What the table finds is what trying every set finds, ties and all: the model of the package comment.
func TestChooseIsWhatTryingEverySetFinds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		opts, b := drawOptions(t), drawBounds(t)
		got, want := choose(opts, b), byHand(opts, b)
		if !slices.Equal(got, want) {
			g, ok := judge(opts, b, got)
			w, _ := judge(opts, b, want)
			t.Fatalf("bounds %+v\noptions %+v\nchosen %+v (keeps the bounds: %t)\nbest   %+v", b, opts, g, ok, w)
		}
	})
}

// Whatever order options come in, sorting them gives the same choice.
func TestChooseDoesNotDependOnTheOrderGiven(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		opts, b := drawOptions(t), drawBounds(t)
		mixed := rapid.Permutation(opts).Draw(t, "mixed")
		slices.SortStableFunc(mixed, byOrder)
		if x, y := choose(opts, b), choose(mixed, b); !slices.Equal(x, y) {
			t.Fatalf("%v and %v of %+v", x, y, opts)
		}
	})
}

// Sets found by hand.
func TestChooseByHand(t *testing.T) {
	strong := option{quality: "strength", points: 10, minutes: 3}
	calf := option{quality: "strength", points: 9, minutes: 3}
	still := option{quality: "static balance", points: 2, minutes: 3, balances: true}
	hops := option{quality: "impact", points: 20, minutes: 2, contacts: 40}
	pogo := option{quality: "impact", points: 20, minutes: 2, contacts: 30}
	jog := option{quality: "power", points: 30, minutes: 5, runs: true}
	run := option{quality: "power", points: 29, minutes: 5, runs: true}
	shares := []int{100, 50, 25}
	for _, c := range []struct {
		what string
		opts []option
		b    bounds
		want []int
	}{
		{"nothing to choose from", nil, bounds{minutes: 10, again: shares}, nil},
		{"everything fits", []option{strong, still}, bounds{minutes: 6, balance: true, again: shares}, []int{0, 1}},
		{"the balance drill is owed, and there is time for one", []option{strong, still}, bounds{minutes: 3, balance: true, again: shares}, []int{1}},
		{"no balance drill is owed", []option{strong, still}, bounds{minutes: 3, again: shares}, []int{0}},
		{"a second of one quality counts half: 4.5 against 2", []option{strong, calf, still}, bounds{minutes: 6, again: shares}, []int{0, 1}},
		{"a second of one quality counts a tenth: 0.9 against 2", []option{strong, calf, still}, bounds{minutes: 6, again: []int{100, 10}}, []int{0, 2}},
		{"worth the same: the one with fewer contacts", []option{hops, pogo}, bounds{minutes: 2, contacts: 60, again: shares}, []int{1}},
		{"worth the same and alike: the earlier", []option{strong, strong, {quality: "impact", points: 10, minutes: 3}}, bounds{minutes: 3, again: shares}, []int{0}},
		{"no contacts allowed", []option{hops, pogo, strong}, bounds{minutes: 9, again: shares}, []int{2}},
		{"one contact too many", []option{pogo}, bounds{minutes: 9, contacts: 29, again: shares}, nil},
		{"running once, though there is time for both", []option{jog, run}, bounds{minutes: 10, again: shares}, []int{0}},
		{"a choice that cannot keep the balance", []option{strong}, bounds{minutes: 9, balance: true, again: shares}, nil},
		{"no shares told: every drill counts in full", []option{strong, calf}, bounds{minutes: 6}, []int{0, 1}},
	} {
		if got := choose(c.opts, c.b); !slices.Equal(got, c.want) {
			t.Errorf("%s: chose %v, want %v", c.what, got, c.want)
		}
	}
}
