package plan_test

import (
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"footing/rehab"
	"footing/rehab/plan"
)

// lived draws a record of some days in the middle of a course, and the evening it is read on.
func lived(t *rapid.T) (*record, time.Time) {
	r := in(rapid.SampledFrom(stages).Draw(t, "stage"))
	days := rapid.IntRange(1, 12).Draw(t, "days")
	for n := 2; n < 2+days; n++ {
		switch rapid.IntRange(0, 5).Draw(t, "morning") {
		case 0:
		case 1:
			r.answer(n, true)
		default:
			r.answer(n, false)
		}
		for range rapid.IntRange(0, 2).Draw(t, "things") {
			happen(t, r, n)
		}
	}
	return r, at(days+1, 20)
}

func happen(t *rapid.T, r *record, n int) {
	contacts := rapid.SampledFrom([]int{0, 15, 40, 80, 130}).Draw(t, "contacts")
	did := []string{rapid.SampledFrom([]string{"pogo 1", "pogo 2", "stand 1", "stand 2", "stick 1", "raises 1"}).Draw(t, "drill")}
	switch rapid.IntRange(0, 9).Draw(t, "what") {
	case 0, 1, 2:
		r.done(n, rapid.SampledFrom([]int{0, 1, 2, 4, 7}).Draw(t, "pain"), contacts, did...)
	case 3, 4:
		r.sent(n, contacts, did...)
	case 5:
		r.test(n, "pogo", rehab.Left, float64(rapid.IntRange(0, 20).Draw(t, "pogos")))
	case 6:
		r.test(n, "balance", rapid.SampledFrom([]rehab.Side{rehab.Left, rehab.Right}).Draw(t, "side"), float64(rapid.IntRange(0, 60).Draw(t, "s")))
	case 7:
		r.log(at(n, 9), rehab.Restricted{Level: rapid.SampledFrom([]rehab.Level{rehab.Full, rehab.Modified, rehab.Unavailable}).Draw(t, "level"), Cannot: []string{"jumping"}})
	case 8:
		r.log(at(n, 18), rehab.Tested{Test: "team-session", Choice: rapid.SampledFrom([]string{"part", "full"}).Draw(t, "session")})
	case 9:
		if rapid.IntRange(0, 3).Draw(t, "bad luck") == 0 {
			r.log(at(n, 19), rapid.SampledFrom([]rehab.Body{
				rehab.Sprained{Side: rehab.Left, Again: true}, rehab.Screened{Answers: []rehab.Answer{{Finding: "squeeze", Yes: true}}}, rehab.Noted{Alert: true}, negative(),
				rehab.Decided{Action: rehab.StepBack, To: "control"},
			}).Draw(t, "it is"))
		}
	}
}

func asked(t *rapid.T) plan.Ask {
	return plan.Ask{
		Minutes: rapid.SampledFrom([]int{0, 1, 2, 4, 10, 25, 60}).Draw(t, "minutes"), MatchNext: rapid.Bool().Draw(t, "match tomorrow"),
		Kit: rapid.SampledFrom([][]string{{}, nil, {"band"}, rehab.Kits}).Draw(t, "kit"),
	}
}

// A plan keeps its minutes, kit, caps, stage and levels; what it does not keep it names.
func TestAPlanKeepsItsBounds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, now := lived(t)
		ask := asked(t)
		a := r.assess(now)
		v := a.Views[0]
		p := plan.For(a, v, ask, now)
		if v.Screening.Held(v.P) && (p.None == "" || len(p.Items) > 0) {
			t.Fatalf("held, and yet %s", says(p))
		}
		if p.None != "" {
			if len(p.Items) > 0 || len(p.Relaxed) > 0 {
				t.Fatalf("no plan, and yet %+v", p)
			}
			return
		}
		longer := slices.ContainsFunc(p.Relaxed, func(s string) bool { return s != "no balance drill fits" })
		if p.Minutes > p.Budget && (!longer || len(p.Items) != 1) {
			t.Fatalf("%d minutes of %d: %s", p.Minutes, p.Budget, says(p))
		}
		ceiling := r.p.Planning.Cap(p.Stage.Key)
		week, today := counted(a, now)
		if n := p.Contacts(); n > 0 && (n+today > ceiling.Session || n+week > ceiling.Week || v.WorseStands(now) || ask.MatchNext && a.Level == rehab.Full) {
			t.Fatalf("%d contacts after %d today and %d in the week: %s", n, today, week, says(p))
		}
		balances, runs := false, 0
		for _, it := range p.Items {
			balances = balances || it.Drill.Balances()
			if it.Drill.Runs {
				runs++
			}
			rung := v.Rung(it.Drill, now).Level
			if !it.Drill.In(p.Stage.Key) || it.Level < 1 || it.Level > r.p.Highest(it.Drill, p.Stage.Key) || it.Level > rung || len(it.Why) == 0 || it.Points < 1 {
				t.Fatalf("%s at level %d of %d in %s, because %q", it.Drill.Key, it.Level, rung, p.Stage.Key, it.Why)
			}
			for _, k := range it.Drill.Kit {
				if !slices.Contains(p.Kit, k) {
					t.Fatalf("%s needs %s, there is %q", it.Drill.Key, k, p.Kit)
				}
			}
		}
		if balances == slices.Contains(p.Relaxed, "no balance drill fits") || runs > 1 {
			t.Fatalf("balances %t, runs %d: %s", balances, runs, says(p))
		}
	})
}

// counted adds up the load of the last seven days as it is kept; a plan of today is about to be replaced.
func counted(a rehab.Assessment, now time.Time) (week, today int) {
	st := a.State
	st.Sessions = slices.DeleteFunc(slices.Clone(st.Sessions), func(e rehab.Entry) bool {
		b, ok := e.Body.(rehab.Planned)
		return ok && b.Day == now.Format(time.DateOnly)
	})
	for _, d := range rehab.Loads(st, a.Views[0].P, rehab.Left, now) {
		if age := int(now.Sub(d.Date).Hours() / 24); age < 7 {
			week += d.Contacts
			if age == 0 {
				today += d.Contacts
			}
		}
	}
	return week, today
}

// The same record gives the same plan, in whatever order its entries are read and the catalogue is written.
func TestTheSameRecordGivesTheSamePlan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, now := lived(t)
		ask := asked(t)
		first := r.plan(now, ask)
		mixed := *r
		mixed.entries = rapid.Permutation(r.entries).Draw(t, "entries")
		p := *r.p
		p.Drills = rapid.Permutation(p.Drills).Draw(t, "drills")
		mixed.p = &p
		if again := mixed.plan(now, ask); !reflect.DeepEqual(first, again) {
			t.Fatalf("%s\n%s", says(first), says(again))
		}
	})
}
