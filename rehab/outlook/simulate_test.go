package outlook

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"

	"footing/rehab"
)

// family draws the time of one stage of a size at a pace.
type family func(r *rand.Rand, size, p float64) int

// lognormal and weibull have the mean of the negative binomial; the first its variance too.
func lognormal(r *rand.Rand, size, p float64) int {
	mean := size * (1 - p) / p
	s2 := math.Log1p(1 / (size * (1 - p)))
	return int(distuv.LogNormal{Mu: math.Log(mean) - s2/2, Sigma: math.Sqrt(s2), Src: r}.Rand() + r.Float64())
}

func weibull(r *rand.Rand, size, p float64) int {
	const shape = 0.7
	scale := size * (1 - p) / p / math.Gamma(1+1/shape)
	return int(distuv.Weibull{K: shape, Lambda: scale, Src: r}.Rand() + r.Float64())
}

// course is one true course: the stages in the order they were gone through, some twice after a
// set-back, each with its days.
type course struct {
	Episode
	visits []visit
}

type visit struct {
	rank, days int
	ends       bool // the stage is finished
}

// suffer draws an episode. A set-back befalls a day at random, one stage back; setBacks is its chance
// per day. frailty is how much athletes of one club differ, in log odds.
func suffer(r *rand.Rand, m Model, p float64, draw family, setBacks, frailty float64) course {
	c := course{Episode: Episode{Course: courses[[]int{0, 0, 0, 0, 1, 2}[r.IntN(6)]], Grade: r.IntN(4)}}
	p = paced(p, m.course[c.Course].Odds*math.Exp(frailty*r.NormFloat64()))
	time := func(rank int) int { return draw(r, m.size(c.Course, c.Grade, m.stages[rank]), p) }
	left := make([]int, len(m.stages))
	for i := range left {
		left[i] = time(i)
	}
	for rank := 0; rank < len(left); {
		until := 0
		for until < left[rank] && r.Float64() >= setBacks {
			until++
		}
		if rank == 0 || until == left[rank] {
			c.visits = append(c.visits, visit{rank, left[rank], true})
			rank++
			continue
		}
		c.visits = append(c.visits, visit{rank, until, false})
		left[rank] -= until
		rank--
		left[rank] = time(rank)
	}
	return c
}

// until is what is known on a day, and the days that are left; false when they are back before it.
func (c course) until(m Model, day int) (known Episode, rank, left int, out bool) {
	known = Episode{Course: c.Course, Grade: c.Grade}
	spent := map[int]int{}
	for _, v := range c.visits {
		if out {
			left += v.days
			continue
		}
		rank = v.rank
		if v.days >= day {
			spent[rank] += day
			left, out = v.days-day, true
			continue
		}
		day -= v.days
		spent[rank] += v.days
		if v.ends {
			known.Stints = append(known.Stints, rehab.Stint{Stage: m.stages[rank], Days: spent[rank], Finished: true})
			delete(spent, rank)
		}
	}
	for i := range m.stages {
		if d, ok := spent[i]; ok {
			known.Stints = append(known.Stints, rehab.Stint{Stage: m.stages[i], Days: d})
		}
	}
	return known, rank, left, out
}

// history is a club's record: one episode in five is seen only up to some day of its first three weeks.
func history(r *rand.Rand, episodes int, m Model, p float64, draw family, setBacks, frailty float64) []Episode {
	var out []Episode
	for range episodes {
		day := math.MaxInt
		if r.IntN(5) == 0 {
			day = r.IntN(21)
		}
		known, _, _, _ := suffer(r, m, p, draw, setBacks, frailty).until(m, day)
		out = append(out, known)
	}
	return out
}
