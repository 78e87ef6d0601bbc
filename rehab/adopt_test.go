package rehab_test

import (
	"slices"
	"strings"
	"testing"

	"footing/rehab"
)

// What another protocol would make of an ankle in Load: each row changes a copy of the default in one way.
func TestWouldChange(t *testing.T) {
	number := func(v float64) *float64 { return &v }
	criterion := func(p *rehab.Protocol, key string) *rehab.Criterion {
		i := slices.IndexFunc(p.Gates, func(g rehab.Gate) bool { return g.From == "load" })
		j := slices.IndexFunc(p.Gates[i].Criteria, func(c rehab.Criterion) bool { return c.Key == key })
		return &p.Gates[i].Criteria[j]
	}
	for _, c := range []struct {
		what   string
		change func(p *rehab.Protocol)
		want   string
		ok     bool
	}{
		{"nothing", func(*rehab.Protocol) {}, "nothing at the next gate", true},
		{"balance has to reach 40", func(p *rehab.Protocol) { criterion(p, "balance").AtLeast = number(40) }, "balance 35 s → not met: balance 35 s, needs 40 (5 short)", true},
		{"balance has to reach 20, which it does too", func(p *rehab.Protocol) { criterion(p, "balance").AtLeast = number(20) }, "nothing at the next gate", true},
		{"another criterion", func(p *rehab.Protocol) {
			g := &p.Gates[1]
			g.Criteria = append(g.Criteria, rehab.Criterion{Key: "jog", Test: "jog", Measure: "value", AtLeast: number(5)})
		}, "jog is asked for", true},
		{"one criterion less", func(p *rehab.Protocol) {
			g := &p.Gates[1]
			g.Criteria = slices.DeleteFunc(g.Criteria, func(c rehab.Criterion) bool { return c.Key == "balance" })
		}, "balance is no longer asked for", true},
		{"no stage Load", func(p *rehab.Protocol) {
			p.Stages = slices.DeleteFunc(p.Stages, func(s rehab.Stage) bool { return s.Key == "load" })
		}, "it has no stage Load", false},
		{"a rule that holds what was found", func(p *rehab.Protocol) {
			p.Rules = append(p.Rules, rehab.Rule{Key: "strict", Outcome: "image", Any: []string{"walked"}, Says: "walked"})
		}, "it would be held", true},
	} {
		ch := sprain(t, adult)
		ch.screen(after(0.5), negative)
		ch.decide(day(1), rehab.Advance, "", "load")
		ch.test(day(2), "balance L 35")
		to := *ankle
		to.Hash = "other"
		to.Stages, to.Rules, to.Gates = slices.Clone(to.Stages), slices.Clone(to.Rules), slices.Clone(to.Gates)
		for i := range to.Gates {
			to.Gates[i].Criteria = slices.Clone(to.Gates[i].Criteria)
		}
		c.change(&to)
		a := ch.assess(day(2))
		said, ok := rehab.WouldChange(a.State, a.Views[0], &to, rehab.Setting{Now: day(2)})
		if got := strings.Join(said, "; "); ok != c.ok || !strings.HasPrefix(got, c.want) || c.what != "a rule that holds what was found" && got != c.want {
			t.Errorf("%s\n got: %s, %t\nwant: %s, %t", c.what, got, ok, c.want, c.ok)
		}
	}
}
