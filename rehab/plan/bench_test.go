package plan_test

import (
	"fmt"
	"testing"

	"footing/rehab"
	"footing/rehab/plan"
)

// season is a record of about 2,000 entries: a baseline, an ankle in Sport after a long course, and on
// every day of it a morning's answer, a plan and what was done of it, tests and efforts.
func season() *record {
	var catalogue []rehab.Drill
	for i := range 48 {
		q := rehab.Qualities[i%len(rehab.Qualities)]
		levels := []string{"2/0", "3/0", "3/0"}
		if q == rehab.Impact || q == rehab.Landing || q == rehab.Power {
			levels = []string{fmt.Sprintf("2/%d", 9+i%4), "3/16", "3/24"}
		}
		catalogue = append(catalogue, drill(fmt.Sprintf("drill-%02d", i), q, stages[i%4:], []string{"", "band", "ball"}[i%3], levels...))
	}
	r := in("sport")
	r.p = with(trial, catalogue...)
	pain := 1
	for n := 2; len(r.entries) < 2000; n++ {
		b := rehab.Trained{Did: "all", Side: rehab.Left, Stage: "sport", Pain: &pain, Contacts: 20}
		for k := range 6 {
			b.Doses = append(b.Doses, rehab.Dose{Drill: catalogue[(n+7*k)%48].Key, Level: 1 + n%3})
		}
		r.answer(n, n%13 == 0)
		r.log(at(n, 9), rehab.Planned{Day: at(n, 9).Format("2006-01-02"), Stage: "sport", Side: rehab.Left, Doses: b.Doses, Contacts: 20})
		r.log(at(n, 17), b)
		r.log(at(n, 18), rehab.Worked{What: "training", Effort: 5, Minutes: 70})
		r.log(at(n, 10), rehab.Tested{Test: "pain-drills", Trials: []rehab.Trial{{Value: 1}}})
		r.test(n, "calf-raise", rehab.Left, 20).test(n, "calf-raise", rehab.Right, 25).test(n, "balance", rehab.Left, 40).test(n, "balance", rehab.Right, 60)
		r.test(n, "hop", rehab.Left, 120, 125).test(n, "hop", rehab.Right, 140)
	}
	return r
}

func BenchmarkFold(b *testing.B) {
	r := season()
	b.ReportAllocs()
	for b.Loop() {
		rehab.Fold(r.athlete, r.entries)
	}
}

func BenchmarkAssess(b *testing.B) {
	r := season()
	st := rehab.Fold(r.athlete, r.entries)
	set := rehab.Setting{Book: func(string) *rehab.Protocol { return r.p }, Protocol: r.p, Now: r.entries[len(r.entries)-1].At}
	b.ReportAllocs()
	for b.Loop() {
		rehab.Assess(st, set)
	}
}

func BenchmarkRung(b *testing.B) {
	r := season()
	now := r.entries[len(r.entries)-1].At
	v := r.assess(now).Views[0]
	b.ReportAllocs()
	for b.Loop() {
		v.Rung(r.p.Drills[7], now)
	}
}

func BenchmarkFor(b *testing.B) {
	r := season()
	now := r.entries[len(r.entries)-1].At
	a := r.assess(now)
	for _, minutes := range []int{10, 60} {
		b.Run(fmt.Sprintf("%d minutes", minutes), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if p := plan.For(a, a.Views[0], plan.Ask{Minutes: minutes, Kit: rehab.Kits}, now); p.None != "" {
					b.Fatal(p.None)
				}
			}
		})
	}
}
