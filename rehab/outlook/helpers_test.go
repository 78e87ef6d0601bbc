package outlook

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"footing/rehab"
)

// file is the prior of the protocol that travels in the program. Package protocol imports this one,
// so its loader cannot be used here; its own tests hold the file against these numbers.
func file() *rehab.Protocol {
	p := &rehab.Protocol{}
	for _, key := range []string{"settle", "load", "control", "impact", "land", "sport", "returned"} {
		p.Stages = append(p.Stages, rehab.Stage{Key: key})
	}
	p.Prior = rehab.Prior{PaceA: 8, PaceB: 25.5,
		Courses: []rehab.CoursePrior{{Course: "lateral", Size: 2.25, Odds: 1}, {Course: "medial", Size: 1.65, Odds: 1.6}, {Course: "high", Size: 1.6, Odds: 2.8}},
		Grades:  []rehab.GradePrior{{Grade: 1, Times: 0.8}, {Grade: 2, Times: 1.5}, {Grade: 3, Times: 3}},
	}
	for i, share := range []float64{0.15, 0.2, 0.15, 0.15, 0.15, 0.2} {
		p.Prior.Stages = append(p.Prior.Stages, rehab.StagePrior{Stage: p.Stages[i].Key, Share: share})
	}
	return p
}

func model(t testing.TB) Model {
	t.Helper()
	m, err := New(file())
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func forecast(t testing.TB, p Pace, a Ask) Forecast {
	t.Helper()
	f, err := p.Forecast(a)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// draw is one negative binomial time, as a Poisson of a gamma: not by the package's own formula.
func draw(r *rand.Rand, size, p float64) int {
	rate := distuv.Gamma{Alpha: size, Beta: p / (1 - p), Src: r}.Rand()
	if rate == 0 {
		return 0
	}
	return int(distuv.Poisson{Lambda: rate, Src: r}.Rand())
}

// paced is the p at which times are so many times as long.
func paced(p, times float64) float64 { return 1 / (1 + (1-p)/p*times) }

func stint(stage string, days int, finished bool) rehab.Stint {
	return rehab.Stint{Stage: stage, Days: days, Finished: finished}
}

func near(t *testing.T, what string, got, want, by float64) {
	t.Helper()
	if !(math.Abs(got-want) <= by) {
		t.Errorf("%s: %.12g, want %.12g", what, got, want)
	}
}
