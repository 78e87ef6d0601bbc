package outlook

import (
	"testing"

	"pgregory.net/rapid"

	"footing/rehab"
)

var courses = []string{"lateral", "medial", "high"}

var ours, _ = New(file())

// treated is any club's record, and one ankle of it under treatment.
func treated(t *rapid.T) (club []Episode, now Episode, rank int) {
	m := ours
	days := rapid.IntRange(0, 40)
	episode := rapid.Custom(func(t *rapid.T) Episode {
		e := Episode{Course: rapid.SampledFrom(courses).Draw(t, "course"), Grade: rapid.IntRange(0, 3).Draw(t, "grade")}
		for range rapid.IntRange(0, 6).Draw(t, "stints") {
			e.Stints = append(e.Stints, rehab.Stint{Stage: rapid.SampledFrom(m.stages).Draw(t, "stage"), Days: days.Draw(t, "days"), Finished: rapid.Bool().Draw(t, "finished")})
		}
		return e
	})
	club = rapid.SliceOfN(episode, 0, 12).Draw(t, "club")
	now = Episode{Course: rapid.SampledFrom(courses).Draw(t, "course"), Grade: rapid.IntRange(0, 3).Draw(t, "grade")}
	rank = rapid.IntRange(0, 5).Draw(t, "rank")
	for i := range rank {
		now.Stints = append(now.Stints, rehab.Stint{Stage: m.stages[i], Days: days.Draw(t, "days"), Finished: true})
	}
	now.Stints = append(now.Stints, rehab.Stint{Stage: m.stages[rank], Days: days.Draw(t, "days here")})
	return club, now, rank
}

// see is what the whole club, this ankle included, makes of this ankle.
func see(t *rapid.T, club []Episode, now Episode, rank int) Forecast {
	m := ours
	f, err := Learn(m, append(append([]Episode{}, club...), now)).Forecast(m.Left(now, rank))
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// notLater reports whether a is never later than b, at any chance, b being told some days afterwards.
func notLater(a, b Forecast, after int) (int, bool) {
	for k := range Horizon + 1 - after {
		if b.By(k) > a.By(k+after)+1e-9 {
			return k, false
		}
	}
	return 0, true
}

func with(e Episode, last ...rehab.Stint) Episode {
	e.Stints = append(append([]rehab.Stint{}, e.Stints[:len(e.Stints)-1]...), last...)
	return e
}

func TestProperties(t *testing.T) {
	stages := []string{"settle", "load", "control", "impact", "land", "sport"}
	rapid.Check(t, func(t *rapid.T) {
		club, now, rank := treated(t)
		f := see(t, club, now, rank)

		before, sure := 0, true
		for q := 0.01; q < 1; q += 0.01 {
			k, ok := f.Quantile(q)
			if k < before || ok && !sure {
				t.Fatalf("quantile %g is %d days, one below it %d", q, k, before)
			}
			before, sure = k, ok
		}
		if again := see(t, club, now, rank); again.By(7) != f.By(7) || again.By(Horizon) != f.By(Horizon) {
			t.Fatal("the same input, another output")
		}

		here := now.Stints[len(now.Stints)-1]
		passed := with(now, rehab.Stint{Stage: here.Stage, Days: here.Days, Finished: true})
		if rank < 5 {
			passed.Stints = append(passed.Stints, rehab.Stint{Stage: stages[rank+1]})
		}
		if k, ok := notLater(see(t, club, passed, rank+1), f, 0); !ok {
			t.Fatalf("a gate met makes %d days later", k)
		}
		more := rapid.IntRange(1, 10).Draw(t, "more")
		waited := with(now, rehab.Stint{Stage: here.Stage, Days: here.Days + more})
		if k, ok := notLater(f, see(t, club, waited, rank), more); !ok {
			t.Fatalf("%d days more in a stage make %d days earlier", more, k)
		}
		back := rapid.IntRange(0, rank).Draw(t, "back to")
		if back < rank {
			setBack := with(now, here, rehab.Stint{Stage: stages[back]})
			if k, ok := notLater(f, see(t, club, setBack, back), 0); !ok {
				t.Fatalf("a set-back makes %d days earlier", k)
			}
		}
	})
}
