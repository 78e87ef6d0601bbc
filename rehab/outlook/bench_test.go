package outlook

import (
	"math/rand/v2"
	"testing"

	"footing/rehab"
)

// club is the record of a club with so many episodes, every third of them not finished.
func club(episodes int) []Episode {
	r := rand.New(rand.NewPCG(1, 2))
	m, _ := New(file())
	var out []Episode
	for i := range episodes {
		e := Episode{Course: courses[i%3], Grade: i % 4}
		for j, stage := range m.stages[:1+r.IntN(len(m.stages))] {
			e.Stints = append(e.Stints, rehab.Stint{Stage: stage, Days: draw(r, m.size(e.Course, e.Grade, stage), 0.24), Finished: i%3 > 0 || j == 0})
		}
		out = append(out, e)
	}
	return out
}

// A club's 200 stays and one answer must take less than 5 ms.
func BenchmarkOutlook(b *testing.B) {
	m := model(b)
	own := club(57)
	n := 0
	for _, e := range own {
		n += len(e.Stints)
	}
	b.ReportMetric(float64(n), "stays")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Learn(m, own).Forecast(Ask{Course: "medial", Grade: 2, Rank: 1, Spent: []int{0, 4, 0, 6}}); err != nil {
			b.Fatal(err)
		}
	}
}
