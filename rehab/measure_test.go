package rehab_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"footing/rehab"
)

// The smallest real change worked out from a published SEM, beside the one printed. Each tolerance
// is what rounding of the printed figures leaves open.
func TestMDC95AgainstPublishedValues(t *testing.T) {
	const munro = "Munro 2010 reach [V]"
	const watson = "Watson 2008 Foot Ankle J 1(12):4 [C]"
	const konor = "Konor 2012 IJSPT 7:279 [V]"
	for _, r := range []struct {
		what              string
		sem, mdc, rounded float64
		source            string
	}{
		{"reach, lowest SEM, % of leg length", 2.21, 6.13, 0.005 + 2.772*0.005, munro},
		{"reach, highest SEM, % of leg length", 2.94, 8.15, 0.005 + 2.772*0.005, munro},
		{"figure-of-eight girth within a session, cm", 0.2, 0.55, 0.005, watson},
		{"figure-of-eight girth between sessions, cm", 0.3, 0.83, 0.005, watson},
		{"knee to wall, lowest SEM, cm", 0.4, 1.1, 0.05 + 2.772*0.05, konor},
		{"knee to wall, highest SEM, cm", 0.6, 1.5, 0.05 + 2.772*0.05, konor},
	} {
		if got := rehab.MDC95(r.sem); math.Abs(got-r.mdc) > r.rounded {
			t.Errorf("%s: SEM %g gives MDC95 %.4f, printed %g, rounding allows %.4f (%s)", r.what, r.sem, got, r.mdc, r.rounded, r.source)
		}
	}
	if rehab.MDC95(0) != 0 {
		t.Error("no SEM, yet a smallest real change")
	}
}

func find(t *testing.T, key string) rehab.Test {
	t.Helper()
	test, ok := ankle.Test(key)
	if !ok {
		t.Fatalf("the protocol file has no test %q", key)
	}
	return test
}

// Change is real only beyond the smallest real change, never at it.
func TestRealChange(t *testing.T) {
	const chisholm = "Chisholm 2012 Physiother Can 64:347 [V]"
	const hebert = "Hébert-Losier 2017 Physiotherapy 103:446 [V]"
	girth := rehab.Test{Key: "girth", Better: "less", SEM: 0.2}
	for _, r := range []struct {
		what        string
		test        rehab.Test
		before, now float64
		want        string
		source      string
	}{
		{"knee to wall 9 to 10 cm: at 1.0, no real change", find(t, "knee-to-wall"), 9, 10, "not real", chisholm},
		{"knee to wall 9 to 10.1 cm: beyond 1.0", find(t, "knee-to-wall"), 9, 10.1, "real", chisholm},
		{"knee to wall 9 to 7.9 cm: a real loss", find(t, "knee-to-wall"), 9, 7.9, "real", chisholm},
		{"knee to wall 9 to 8 cm: at 1.0, no real loss", find(t, "knee-to-wall"), 9, 8, "not real", chisholm},
		{"knee to wall unchanged", find(t, "knee-to-wall"), 9, 9, "not real", chisholm},
		{"calf raise 18 to 24: 6 is inside the limits", find(t, "calf-raise"), 18, 24, "not real", hebert},
		{"calf raise 18 to 25: 7 is beyond them", find(t, "calf-raise"), 18, 25, "real", hebert},
		{"girth 0.5 cm less: inside 0.55", girth, 52.5, 52, "not real", "Watson 2008 Foot Ankle J 1(12):4 [C]"},
		{"girth 0.6 cm less: beyond 0.55", girth, 52.6, 52, "real", "Watson 2008 Foot Ankle J 1(12):4 [C]"},
		{"balance 10 to 40 s: no error is published, so nobody can say", find(t, "balance"), 10, 40, "not judged", practice},
		{"the printed figure goes before the one from SEM", rehab.Test{SEM: 5, MDC: 1}, 9, 11, "real", practice},
	} {
		real, judged := r.test.RealChange(r.before, r.now)
		got := map[bool]string{true: "real", false: "not real"}[real]
		if !judged {
			got = "not judged"
		}
		want(t, r.what, got, r.want, r.source)
	}
	ktw := find(t, "knee-to-wall")
	for mm := 20; mm <= 200; mm++ {
		before, now := float64(mm)/10, float64(mm+10)/10
		if real, _ := ktw.RealChange(before, now); real {
			t.Errorf("knee to wall %g to %g cm is exactly 1.0 and called real (%s)", before, now, chisholm)
			break
		}
	}
}

func TestWhichTrialCounts(t *testing.T) {
	value := func(v float64) rehab.Trial { return rehab.Trial{Value: v} }
	failed := func(v float64) rehab.Trial { return rehab.Trial{Value: v, Failed: true} }
	capped := func(v float64) rehab.Trial { return rehab.Trial{Value: v, Capped: true} }
	more, less := rehab.Test{Better: "more", Take: "best"}, rehab.Test{Better: "less", Take: "best"}
	mean, last := rehab.Test{Better: "more", Take: "mean"}, rehab.Test{Better: "more", Take: "last"}
	for _, r := range []struct {
		what   string
		test   rehab.Test
		trials []rehab.Trial
		want   string
	}{
		{"hop 140, 138, x, 142: the best", more, []rehab.Trial{value(140), value(138), failed(0), value(142)}, "142"},
		{"the best comes first", more, []rehab.Trial{value(142), value(138)}, "142"},
		{"the furthest was a failed landing", more, []rehab.Trial{value(140), failed(160)}, "140"},
		{"side hop in seconds: the fastest", less, []rehab.Trial{value(9.4), value(8.7), value(9)}, "8.7"},
		{"side hop: the fastest was failed", less, []rehab.Trial{failed(7), value(9)}, "9"},
		{"all failed: no value", more, []rehab.Trial{failed(140), failed(0)}, "none"},
		{"no trial: no value", more, nil, "none"},
		{"a best of nothing at all is still a value", more, []rehab.Trial{value(0)}, "0"},
		{"balance 45, 60+: stopped at the cap", more, []rehab.Trial{value(45), capped(60)}, "60+"},
		{"pain 2, then 4: the last", last, []rehab.Trial{value(2), value(4)}, "4"},
		{"pain 4, then x: the last that counts", last, []rehab.Trial{value(4), failed(0)}, "4"},
		{"reach 80, 82, 84: the mean", mean, []rehab.Trial{value(80), value(82), value(84)}, "82"},
		{"reach 80, x, 84: the mean of those that count", mean, []rehab.Trial{value(80), failed(70), value(84)}, "82"},
		{"reach x: no mean", mean, []rehab.Trial{failed(70)}, "none"},
	} {
		trial, ok := r.test.Counted(r.trials)
		got := fmt.Sprintf("%g", trial.Value)
		if trial.Capped {
			got += "+"
		}
		if !ok {
			got = "none"
		}
		want(t, r.what, got, r.want, practice)
	}
}

// 100 is symmetry and below is deficit, whichever way round the test counts.
func TestSymmetryAndDeficit(t *testing.T) {
	more, less := rehab.Test{Better: "more"}, rehab.Test{Better: "less"}
	for _, r := range []struct {
		what           string
		test           rehab.Test
		injured, other rehab.Trial
		symmetry       string
		deficit        float64
	}{
		{"calf raise 18 of 24", more, rehab.Trial{Value: 18}, rehab.Trial{Value: 24}, "75", 6},
		{"calf raise 24 of 24", more, rehab.Trial{Value: 24}, rehab.Trial{Value: 24}, "100", 0},
		{"injured side ahead", more, rehab.Trial{Value: 30}, rehab.Trial{Value: 24}, "125", -6},
		{"side hop 10 s against 8 s: slower is worse", less, rehab.Trial{Value: 10}, rehab.Trial{Value: 8}, "80", 2},
		{"side hop 8 s against 10 s: ahead", less, rehab.Trial{Value: 8}, rehab.Trial{Value: 10}, "125", -2},
		{"balance 60+ and 60+", more, rehab.Trial{Value: 60, Capped: true}, rehab.Trial{Value: 60, Capped: true}, "100", 0},
		{"balance 45 against 60+", more, rehab.Trial{Value: 45}, rehab.Trial{Value: 60, Capped: true}, "75", 15},
		{"timed test stopped at the cap on both sides", less, rehab.Trial{Value: 30, Capped: true}, rehab.Trial{Value: 30, Capped: true}, "100", 0},
		{"no raise at all of 20", more, rehab.Trial{}, rehab.Trial{Value: 20}, "0", 20},
		{"12 against none on the other side: not to be compared", more, rehab.Trial{Value: 12}, rehab.Trial{}, "none", -12},
		{"none on either side: not to be compared", more, rehab.Trial{}, rehab.Trial{}, "none", 0},
		{"timed test with no time on the injured side: not to be compared", less, rehab.Trial{}, rehab.Trial{Value: 8}, "none", -8},
	} {
		pct, ok := r.test.Symmetry(r.injured, r.other)
		got := fmt.Sprintf("%g", math.Round(pct*1e6)/1e6)
		if !ok {
			got = "none"
		}
		want(t, r.what+": symmetry", got, r.symmetry, practice)
		if d := r.test.Deficit(r.injured, r.other); math.Abs(d-r.deficit) > 1e-9 {
			t.Errorf("%s: deficit %g, want %g", r.what, d, r.deficit)
		}
	}
}

// Trials of one local day belong together, wherever the team is: Auckland is 13 hours ahead in
// summer and 12 from 5 April 2026.
func TestDaysAreTheTeamsOwn(t *testing.T) {
	auckland, err := time.LoadLocation("Pacific/Auckland")
	if err != nil {
		t.Fatal(err)
	}
	at := func(d, h, m int) time.Time { return time.Date(2026, 3, d, h, m, 0, 0, time.UTC) }
	reading := func(seq int64, at time.Time, b rehab.Tested) rehab.Reading {
		b.Test, b.Side = "balance", rehab.Left
		return rehab.Reading{Tested: b, At: at, Seq: seq}
	}
	of := func(v float64) rehab.Tested { return rehab.Tested{Trials: []rehab.Trial{{Value: v}}} }
	absent := rehab.Tested{Absent: "not-done", Reason: "wet floor"}
	failed := rehab.Tested{Trials: []rehab.Trial{{Failed: true}}}
	for _, r := range []struct {
		what     string
		readings []rehab.Reading
		zone     *time.Location
		want     string
	}{
		{"23:30 and 00:30 in Auckland are two days though one in London", []rehab.Reading{reading(1, at(9, 10, 30), of(20)), reading(2, at(9, 11, 30), of(12))}, auckland, "9 Mar: 20; 10 Mar: 12"},
		{"the same two in London", []rehab.Reading{reading(1, at(9, 10, 30), of(20)), reading(2, at(9, 11, 30), of(12))}, time.UTC, "9 Mar: 20"},
		{"morning and evening in Auckland are one day though two in London", []rehab.Reading{reading(1, at(9, 20, 0), of(20)), reading(2, at(10, 6, 0), of(25))}, auckland, "10 Mar: 25"},
		{"not done in the morning, done in the evening", []rehab.Reading{reading(1, at(9, 8, 0), absent), reading(2, at(9, 18, 0), of(25))}, time.UTC, "9 Mar: 25"},
		{"done in the morning, not done in the evening: the value stays", []rehab.Reading{reading(1, at(9, 8, 0), of(25)), reading(2, at(9, 18, 0), absent)}, time.UTC, "9 Mar: 25"},
		{"not done at all that day", []rehab.Reading{reading(1, at(9, 8, 0), of(25)), reading(2, at(10, 8, 0), absent)}, time.UTC, "9 Mar: 25; 10 Mar: not-done wet floor"},
		{"failed, then stood 11 s", []rehab.Reading{reading(1, at(9, 8, 0), failed), reading(2, at(9, 9, 0), of(11))}, time.UTC, "9 Mar: 11"},
		{"failed all day", []rehab.Reading{reading(1, at(9, 8, 0), failed)}, time.UTC, "9 Mar: failed"},
	} {
		got := ""
		for _, d := range rehab.Days(r.readings, find(t, "balance"), rehab.Left, func(rehab.Reading) bool { return true }, r.zone) {
			says := fmt.Sprint(d.Value.Value)
			switch {
			case d.Value.Failed:
				says = "failed"
			case !d.Measured():
				says = d.Absent + " " + d.Reason
			}
			got += rehab.Prefixed("; ", d.Date.Format("2 Jan")+": "+says)
		}
		want(t, r.what, got, "; "+r.want, practice)
	}
	// The night of 4 to 5 April is 25 hours long in Auckland and still one day.
	if n := rehab.DaysBetween(time.Date(2026, 4, 4, 0, 30, 0, 0, auckland), time.Date(2026, 4, 5, 23, 30, 0, 0, auckland), auckland); n != 1 {
		t.Errorf("across the end of summer time %d days, want 1", n)
	}
	if n := rehab.DaysBetween(at(9, 10, 59), at(9, 11, 0), auckland); n != 1 {
		t.Errorf("a minute across midnight in Auckland is %d days, want 1", n)
	}
}
