package outlook

import (
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"gonum.org/v1/gonum/stat/distuv"

	"footing/rehab"
)

// file is the protocol that travels in the program. Its loader imports this package, so these tests
// read it without.
func file() *rehab.Protocol {
	p := &rehab.Protocol{}
	text, err := os.ReadFile("../protocol/default.toml")
	if err == nil {
		err = toml.Unmarshal(text, p)
	}
	if err != nil {
		panic(err)
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
