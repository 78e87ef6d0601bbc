package rehab_test

import (
	"math"
	"testing"
	"time"

	"footing/rehab"
)

func near(t *testing.T, what string, got, want, within float64, source string) {
	t.Helper()
	if math.Abs(got-want) > within {
		t.Errorf("%s: %.4f, want %.4f within %g (%s)", what, got, want, within, source)
	}
}

// Composite % = (anterior + posteromedial + posterolateral) ÷ (3 × leg length) × 100.
func TestReachComposite(t *testing.T) {
	const formula = "Y balance composite [V2]"
	for _, r := range []struct {
		what           string
		ant, pm, pl    float64
		leg, composite float64
	}{
		{"as far as the leg is long each way", 85, 85, 85, 85, 100},
		{"64 + 98 + 93 on a leg of 85", 64, 98, 93, 85, 100},
		{"60 + 90 + 85 on a leg of 90", 60, 90, 85, 90, 87.037},
		{"94 %, the level of the girls in Plisky 2006", 70, 90, 93.8, 90, 94},
		{"leg not measured: none", 64, 98, 93, 0, 0},
	} {
		near(t, r.what, rehab.Composite(r.ant+r.pm+r.pl, r.leg), r.composite, 0.001, formula)
	}
	c := sprain(t, adult)
	c.test(day(1), "reach-anterior L 58 60 x", "reach-posteromedial L 90", "reach-posterolateral L 84 85")
	all := rehab.Days(rehab.Fold(c.athlete, c.entries).Readings, find(t, "reach"), rehab.Left, func(rehab.Reading) bool { return true }, time.UTC)
	if len(all) != 1 {
		t.Fatalf("%d days with a composite", len(all))
	}
	near(t, "sum of the best of each direction, in cm", all[0].Value.Value, 235, 1e-9, formula)
}

// FAAM: sum ÷ (4 × answered) × 100, from 19 of 21 (daily) or 7 of 8 (sport) answered items on.
func TestQuestionnaireScores(t *testing.T) {
	const faam = "Martin 2005 Foot Ankle Int 26:968; minimum items [V2]"
	items := func(n, each int, more ...int) []int {
		for range n {
			more = append(more, each)
		}
		return more
	}
	for _, r := range []struct {
		what, test string
		scores     []int
		percent    float64
		ok         bool
		source     string
	}{
		{"no difficulty with any of 21", "function-daily", items(21, 4), 100, true, faam},
		{"unable to do any", "function-daily", items(21, 0), 0, true, faam},
		{"21 answered, sum 63 of 84", "function-daily", items(21, 3), 75, true, faam},
		{"20 answered, sum 70 of 80", "function-daily", items(10, 4, items(10, 3)...), 87.5, true, faam},
		{"19 answered, sum 38 of 76", "function-daily", items(19, 2), 50, true, faam},
		{"19 answered, sum 60 of 76", "function-daily", items(3, 4, items(16, 3)...), 78.947, true, faam},
		{"18 answered: no score", "function-daily", items(18, 4), 0, false, faam},
		{"nothing answered", "function-daily", nil, 0, false, faam},
		{"8 answered, sum 20 of 32", "function-sport", items(4, 3, items(4, 2)...), 62.5, true, faam},
		{"7 answered, sum 21 of 28", "function-sport", items(7, 3), 75, true, faam},
		{"6 answered: no score", "function-sport", items(6, 4), 0, false, faam},
		{"ALR-RSI, sum 90 of 120", "return-confidence", items(6, 10, items(6, 5)...), 75, true, memory},
		{"ALR-RSI, 11 answered", "return-confidence", items(11, 10), 0, false, memory},
	} {
		percent, ok := find(t, r.test).Items.Values(r.scores)
		if ok != r.ok {
			t.Errorf("%s: scored %t, want %t (%s)", r.what, ok, r.ok, r.source)
		}
		near(t, r.what, percent, r.percent, 0.001, r.source)
	}
	for key, count := range map[string]int{"function-daily": 21, "function-sport": 8, "return-confidence": 12} {
		if got := find(t, key).Items.Count; got != count {
			t.Errorf("%s has %d items, want %d", key, got, count)
		}
	}
}

// Wright 2014, 2 × 2: of 29 unstable ankles one scored above 25, of 53 stable ones seven did not. The
// likelihood ratios are printed as worked out from the rounded per cents.
func TestCAITReproducesWright2014(t *testing.T) {
	const wright = "Wright 2014 Arch PMR 95:1853 [V]"
	cait := find(t, "stability")
	group := func(n, from, to int) (out []int) {
		for i := range n {
			out = append(out, from+i%(to-from+1))
		}
		return out
	}
	flagged := func(scores ...int) (n int) {
		for _, s := range scores {
			v, ok := cait.Counted([]rehab.Trial{{Value: float64(s)}})
			if ok && v.Value <= cait.Warn.AtMost {
				n++
			}
		}
		return n
	}
	unstable := append(group(28, 10, 25), 26) // 28 from 10 to 25, both ends among them
	stable := append(group(46, 26, 30), 19, 20, 21, 22, 23, 24, 25)
	if len(unstable) != 29 || len(stable) != 53 {
		t.Fatalf("%d and %d ankles", len(unstable), len(stable))
	}
	a, b := flagged(unstable...), flagged(stable...)
	sens, spec := float64(a)/29, float64(53-b)/53
	near(t, "sensitivity, %", sens*100, 96.6, 0.05, wright)
	near(t, "specificity, %", spec*100, 86.8, 0.05, wright)
	near(t, "LR+", sens/(1-spec), 7.318, 0.02, wright)
	near(t, "LR−", (1-sens)/spec, 0.039, 0.001, wright)
	round := func(x float64) float64 { return math.Round(x*1000) / 1000 }
	near(t, "LR+ as printed", round(sens)/(1-round(spec)), 7.318, 0.0005, wright)
	near(t, "LR− as printed", (1-round(sens))/round(spec), 0.039, 0.0005, wright)
	if w := cait.Warn.NotForDays; w < 90 || w > 93 || cait.Max != 30 || cait.Better != "more" {
		t.Errorf("CAIT %+v: 0–30, 30 stable, not flagged within 3 months of a sprain", cait.Warn)
	}
}

// Days lost, every case printed with the consensus.
func TestDaysLostAsTheConsensusCountsThem(t *testing.T) {
	const ioc = "IOC consensus, Bahr 2020 BJSM 54:372 [V]"
	monday := time.Date(2026, 3, 9, 18, 0, 0, 0, time.UTC)
	on := func(n int) time.Time { return monday.AddDate(0, 0, n).Add(-3 * time.Hour) } // 0 is Monday
	for _, r := range []struct {
		what        string
		first, back time.Time
		lost        int
	}{
		{"back the same day", monday, monday.Add(time.Hour), 0},
		{"back the next day", monday, on(1), 0},
		{"injured Monday, normal training the next Monday", monday, on(7), 6},
		{"injured Saturday, could have trained Tuesday though the team next trains Thursday", on(5), on(8), 2},
		{"injured Sunday, trains Monday and Tuesday, out from Wednesday, back Sunday", on(2), on(6), 3},
		{"back before the first day out: none", on(3), on(1), 0},
	} {
		if got := rehab.DaysLost(r.first, r.back, time.UTC); got != r.lost {
			t.Errorf("%s: %d, want %d (%s)", r.what, got, r.lost, ioc)
		}
	}
	if got := rehab.DaysMissed([]time.Time{on(2), on(4), on(4).Add(2 * time.Hour)}, time.UTC); got != 2 {
		t.Errorf("misses only Wednesday and Friday, twice on Friday: %d, want 2 (%s)", got, ioc)
	}
	if got := rehab.DaysMissed(nil, time.UTC); got != 0 {
		t.Errorf("misses nothing: %d", got)
	}
	// The days are the team's own: 23:30 on Saturday to 00:30 on Tuesday in Auckland, over the end of summer time.
	auckland, err := time.LoadLocation("Pacific/Auckland")
	if err != nil {
		t.Fatal(err)
	}
	late, early := time.Date(2026, 4, 4, 23, 30, 0, 0, auckland), time.Date(2026, 4, 7, 0, 30, 0, 0, auckland)
	if got := rehab.DaysLost(late.UTC(), early.UTC(), auckland); got != 2 {
		t.Errorf("Saturday night to Tuesday in Auckland: %d, want 2 (%s)", got, ioc)
	}
	// And what is said while they are out adds up to what is counted once they are back.
	c := sprain(t, adult)
	for n := 1; n < 40; n++ {
		if out, lost := c.assess(day(n)).Out, rehab.DaysLost(injury, day(n+1), time.UTC); out != lost {
			t.Fatalf("day %d: %d days out, back the next day %d lost (%s)", n, out, lost, ioc)
		}
	}
}

// What change each test needs to be real: 1.96 × √2 × SEM where a SEM is published, else as printed.
func TestRealChangeOfEveryTest(t *testing.T) {
	fromSEM := map[string]struct{ sem, mdc float64 }{"girth": {0.3, 0.83}} // Watson 2008 Foot Ankle J 1(12):4 [V], MDC95 [C]
	printed := map[string]float64{
		"knee-to-wall":   1.0,  // Chisholm 2012 Physiother Can 64:347, affected leg [V]
		"calf-raise":     6.5,  // Hébert-Losier 2017 Physiotherapy 103:446, the wider limit [V]
		"function-daily": 5.7,  // Martin 2005 Foot Ankle Int 26:968 [V]
		"function-sport": 12.3, // the same; its MCID of 9 is not beyond it
	}
	for _, test := range ankle.Tests {
		want, beyond := fromSEM[test.Key], printed[test.Key]
		if want.sem > 0 {
			beyond = 1.96 * math.Sqrt2 * want.sem
			near(t, test.Key+", rounded as published", beyond, want.mdc, 0.005, watson)
		}
		if test.SEM != want.sem {
			t.Errorf("%s: SEM %g, want %g: name its source here", test.Key, test.SEM, want.sem)
		}
		near(t, test.Key+": real beyond", test.RealChangeBeyond(), beyond, 1e-9, "the source beside it above")
	}
	for _, r := range []struct {
		test string
		up   float64
		real bool
	}{{"girth", 0.83, false}, {"girth", 0.84, true}, {"function-daily", 5.7, false}, {"function-daily", 5.8, true}, {"function-sport", 9, false}, {"function-sport", 12.4, true}, {"calf-raise", 6, false}, {"calf-raise", 7, true}} {
		if real, judged := find(t, r.test).RealChange(50, 50+r.up); real != r.real || !judged {
			t.Errorf("%s up by %g: real %t, judged %t; want real %t", r.test, r.up, real, judged, r.real)
		}
	}
}

// Jump height ÷ contact time, m/s.
func TestDropJumpRatio(t *testing.T) {
	const healy = "Healy 2018 IJSPP [V]; the formula " + memory
	near(t, "24 cm on 210 ms", rehab.ReactiveStrength(24, 210), 1.142857, 1e-6, healy)
	near(t, "30 cm on 200 ms", rehab.ReactiveStrength(30, 200), 1.5, 1e-9, healy)
	near(t, "25 cm on 0.25 s: 1 m/s", rehab.ReactiveStrength(25, 250), 1, 1e-9, healy)
	near(t, "contact not timed", rehab.ReactiveStrength(25, 0), 0, 0, healy)
	dj := find(t, "drop-jump")
	sym, _ := dj.Symmetry(rehab.Trial{Value: rehab.ReactiveStrength(20, 250)}, rehab.Trial{Value: rehab.ReactiveStrength(24, 240)})
	near(t, "0.8 against 1.0 m/s", sym, 80, 1e-9, healy)
	if !dj.Ratio || dj.Unit != "m/s" {
		t.Errorf("drop jump in %s, ratio %t", dj.Unit, dj.Ratio)
	}
}
