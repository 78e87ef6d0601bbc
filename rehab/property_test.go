package rehab_test

import (
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"footing/rehab"
)

// answers draws a random part of an examination.
func answers(t *rapid.T) rehab.Screened {
	var out []rehab.Answer
	for _, f := range ankle.Findings {
		switch rapid.SampledFrom([]string{"silent", "no", "no", "yes"}).Draw(t, f.Key) {
		case "yes":
			out = append(out, rehab.Answer{Finding: f.Key, Yes: true})
		case "no":
			out = append(out, rehab.Answer{Finding: f.Key})
		}
	}
	return rehab.Screened{Answers: out}
}

// clean draws a part of an examination in which nothing is found, so that passing is common.
func clean(t *rapid.T) rehab.Screened {
	drop := rapid.SliceOfN(rapid.SampledFrom(ankle.Findings), 0, 2).Draw(t, "left out")
	return rehab.Screened{Answers: slices.DeleteFunc(finds(t, negative, "growth-plate -").Answers, func(a rehab.Answer) bool {
		return slices.ContainsFunc(drop, func(f rehab.Finding) bool { return f.Key == a.Finding })
	})}
}

func body(t *rapid.T) rehab.Body {
	side := rapid.SampledFrom([]rehab.Side{rehab.Left, rehab.Right}).Draw(t, "side")
	switch rapid.IntRange(0, 6).Draw(t, "kind") {
	case 0:
		return rehab.Sprained{Side: side, Again: rapid.Bool().Draw(t, "again")}
	case 1:
		return answers(t)
	case 2:
		return rehab.Tested{Test: "balance", Side: side, Trials: []rehab.Trial{{Value: float64(rapid.IntRange(0, 60).Draw(t, "s"))}}}
	case 3:
		return rehab.Responded{Pain: rapid.IntRange(0, 10).Draw(t, "pain")}
	case 4:
		return rehab.Decided{Action: rehab.Advance, To: rapid.SampledFrom(course).Draw(t, "to")}
	case 5:
		return rehab.Restricted{Level: rapid.SampledFrom([]rehab.Level{rehab.Full, rehab.Modified, rehab.Unavailable}).Draw(t, "level")}
	}
	return rehab.Lifted{Course: "lateral", Rules: []string{"squeeze"}}
}

// The log is read the same whatever order the entries come in.
func TestFoldDoesNotDependOnTheOrderGiven(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 25).Draw(t, "entries")
		var entries []rehab.Entry
		for i := range n {
			e := rehab.Entry{
				Seq: int64(n + i + 1), Episode: rapid.IntRange(0, 2).Draw(t, "episode"), Athlete: 7,
				At: after(float64(rapid.IntRange(0, 9).Draw(t, "hour"))), Body: body(t),
			}
			if rapid.Bool().Draw(t, "edited") {
				e.First = int64(n - i) // each restates another entry that no longer lives
			}
			entries = append(entries, e)
		}
		shuffled := rapid.Permutation(entries).Draw(t, "shuffled")
		if a, b := rehab.Fold(rehab.Athlete{}, entries), rehab.Fold(rehab.Athlete{}, shuffled); !reflect.DeepEqual(a, b) {
			t.Fatalf("one order gives\n%+v\nanother\n%+v", a, b)
		}
	})
}

// An edited line may restate several tests at once; they share the place of the line's first.
func TestFoldOfTestsRestatedTogether(t *testing.T) {
	var there, back []rehab.Entry
	for i := int64(1); i <= 3; i++ {
		there = append(there, rehab.Entry{Seq: 10 + i, First: 2, Episode: 1, At: day(1), Body: rehab.Tested{Test: "balance", Side: rehab.Left, Trials: []rehab.Trial{{Value: float64(i)}}}})
	}
	there = append(there, rehab.Entry{Seq: 1, Episode: 1, At: injury, Body: rehab.Sprained{Side: rehab.Left}})
	back = slices.Clone(there)
	slices.Reverse(back)
	if a, b := rehab.Fold(rehab.Athlete{}, there), rehab.Fold(rehab.Athlete{}, back); !reflect.DeepEqual(a, b) {
		t.Errorf("one order gives\n%+v\nanother\n%+v", a.Episodes, b.Episodes)
	}
}

// A sprain that was taken back leaves no episode; what was measured under it stays measured.
func TestFoldWithoutItsSprain(t *testing.T) {
	c := sprain(t, adult)
	c.screen(after(0.5), negative)
	c.test(day(1), "balance L 20")
	st := rehab.Fold(c.athlete, c.entries[1:])
	if len(st.Episodes) != 0 || len(st.Readings) != 1 || st.LastEpisode != 1 {
		t.Errorf("%d episodes, %d readings, last episode %d", len(st.Episodes), len(st.Readings), st.LastEpisode)
	}
}

// While an ankle is held, no gate shows it as not held, and it is unavailable.
func TestAHeldAnkleNeverPasses(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c := sprain(t, rapid.SampledFrom([]string{adult, "2008-06-01", "2011-01-01", ""}).Draw(rt, "born"))
		if rapid.Bool().Draw(rt, "in load") {
			c.decide(after(0.1), rehab.Advance, "settle", "load")
		}
		for i := range rapid.IntRange(1, 4).Draw(rt, "screens") {
			c.log(after(float64(i+1)), answers(rt))
			if rapid.IntRange(0, 3).Draw(rt, "lifted") == 0 {
				c.lift(after(float64(i+1)), "lateral")
			}
		}
		a := c.assess(after(float64(rapid.IntRange(5, 100).Draw(rt, "now"))))
		v := a.Views[0]
		for _, r := range v.Gate {
			if r.Criterion.Fact == "not-held" && (r.Status == rehab.Met) == v.Screening.Held(ankle) {
				rt.Fatalf("held %t, and the gate out of %s says %s", v.Screening.Held(ankle), v.Stage.Key, r.Status)
			}
		}
		if v.Screening.Held(ankle) && (v.Screening.Cleared || a.Level != rehab.Unavailable) {
			rt.Fatalf("held, yet cleared %t and %s", v.Screening.Cleared, a.Level)
		}
	})
}

// A red flag added to any examination never leaves the ankle cleared.
func TestARedFlagNeverClears(t *testing.T) {
	unreliable := []string{"pregnant", "intoxicated", "head-knock", "reduced-sensation", "other-injury"}
	rapid.Check(t, func(rt *rapid.T) {
		c := sprain(t, adult)
		n := rapid.IntRange(1, 3).Draw(rt, "screens")
		at := rapid.IntRange(0, n).Draw(rt, "the flag comes after")
		flag := rapid.SampledFrom(redFlags).Draw(rt, "flag")
		if at == n && rapid.Bool().Draw(rt, "unreliable") {
			flag = rapid.SampledFrom(unreliable).Draw(rt, "why") // said last, so nobody has taken it back
		}
		for i := range n + 1 {
			if i == at {
				c.log(after(float64(i)+0.5), rehab.Screened{Answers: []rehab.Answer{{Finding: flag, Yes: true}}})
			}
			if i < n {
				c.log(after(float64(i)+1), clean(rt))
			}
		}
		if v := c.view(after(10)); v.Screening.Cleared {
			rt.Fatalf("%s was found, and yet: %s", flag, verdict(v))
		}
	})
}

// One more point of pain this morning, all else equal, never turns worse into not worse.
func TestMorePainIsNeverBetter(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		days := rapid.IntRange(1, 10).Draw(rt, "mornings")
		pains := rapid.SliceOfN(rapid.IntRange(-3, 9), days, days).Draw(rt, "pain, below 0 unanswered")
		pains[days-1] = max(pains[days-1], 0)
		settled := rapid.Bool().Draw(rt, "settled")
		last := rehab.Responded{
			Swelling: rapid.SampledFrom([]string{"", "less", "same", "more"}).Draw(rt, "swelling"),
			Limp:     rapid.Bool().Draw(rt, "limp"),
		}
		worse := func(more int) bool {
			c := sprain(t, adult)
			for i, p := range pains {
				answer := rehab.Responded{Pain: p}
				if i == days-1 {
					answer = last
					answer.Pain = p + more
				}
				if p >= 0 {
					c.log(day(i+1), answer)
				}
			}
			return rehab.LastMorning(rehab.Fold(c.athlete, c.entries).Episodes[0], ankle, settled, injury, day(days).Add(time.Hour)).Worse
		}
		if worse(0) && !worse(1) {
			rt.Fatalf("mornings %v, settled %t: worse, and with one more point not worse", pains, settled)
		}
	})
}
