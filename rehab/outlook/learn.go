package outlook

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// Pace is what is known of a club's pace: weights on a grid over x = log(p / (1 − p)).
type Pace struct {
	model  Model
	x, w   []float64 // w sums to 1
	Stages int       // finished stages it was learnt from
}

// The grid: a coarse look over every x that can matter, then fine nodes where the weight is.
const (
	lowest, highest = -12.0, 12.0
	coarse          = 0.5
	nodes           = 64
	negligible      = 40 // in log weight below the peak
)

// Learn works out a club's pace from its episodes, in any order. Stages and courses of which the model
// knows nothing, and negative days, count for nothing; with no episodes it is the prior.
func Learn(m Model, episodes []Episode) Pace { return learn(m, episodes, nodes) }

func learn(m Model, episodes []Episode, nodes int) Pace {
	ev := m.evidence(episodes)
	peak, lo, hi := math.Inf(-1), lowest, highest
	var rough []float64
	for x := lowest; x <= highest; x += coarse {
		rough = append(rough, ev.log(x))
		peak = max(peak, rough[len(rough)-1])
	}
	for i := range rough {
		if rough[i] > peak-negligible {
			hi = lowest + coarse*float64(i+1)
		}
		if j := len(rough) - 1 - i; rough[j] > peak-negligible {
			lo = lowest + coarse*float64(j-1)
		}
	}
	p := Pace{model: m, x: make([]float64, nodes), w: make([]float64, nodes), Stages: ev.stages}
	top := math.Inf(-1)
	for i := range p.x {
		p.x[i] = lo + (hi-lo)*float64(i)/float64(nodes-1)
		p.w[i] = ev.log(p.x[i])
		top = max(top, p.w[i])
	}
	sum := 0.0
	for i := range p.w {
		p.w[i] = math.Exp(p.w[i] - top)
		sum += p.w[i]
	}
	for i := range p.w {
		p.w[i] /= sum
	}
	return p
}

// evidence is the prior and a club's stages, like ones put together, in the order they came.
type evidence struct {
	done   []finished
	open   []unfinished
	many   []float64 // how many of each of open
	stages int
}

// finished are stages of courses with the same log odds; the first are the prior.
type finished struct{ logOdds, size, days float64 }

type unfinished struct{ logOdds, size, days float64 }

func (m Model) evidence(episodes []Episode) evidence {
	ev := evidence{done: []finished{{0, m.a, m.b}}}
	for _, e := range episodes {
		at := math.Log(m.course[e.Course].Odds)
		for _, s := range e.Stints {
			size := m.size(e.Course, e.Grade, s.Stage)
			switch {
			case size <= 0 || s.Days < 0:
			case s.Finished:
				ev.finish(at, size, float64(s.Days))
			case s.Days > 0: // a stage just begun says nothing
				ev.leaveOpen(unfinished{at, size, float64(s.Days)})
			}
		}
	}
	return ev
}

func (ev *evidence) finish(at, size, days float64) {
	ev.stages++
	i := slices.IndexFunc(ev.done, func(f finished) bool { return f.logOdds == at })
	if i < 0 {
		ev.done = append(ev.done, finished{at, size, days})
		return
	}
	ev.done[i].size += size
	ev.done[i].days += days
}

func (ev *evidence) leaveOpen(u unfinished) {
	i := slices.Index(ev.open, u)
	if i < 0 {
		ev.open, ev.many, i = append(ev.open, u), append(ev.many, 0), len(ev.open)
	}
	ev.many[i]++
}

// log is the log density of x but for a constant; the prior's is p^a (1 − p)^b, its Jacobian included.
func (ev evidence) log(x float64) float64 {
	sum := 0.0
	for _, f := range ev.done {
		logP, logQ := logs(x - f.logOdds)
		sum += f.size*logP + f.days*logQ
	}
	for i, u := range ev.open {
		sum += ev.many[i] * u.logSurvival(x)
	}
	return sum
}

// logSurvival is log P(T ≥ days) at x.
func (u unfinished) logSurvival(x float64) float64 {
	if u.days == 0 {
		return 0
	}
	_, logQ := logs(x - u.logOdds)
	return math.Log(mathext.RegIncBeta(u.days, u.size, math.Exp(logQ)))
}

// logs are log p and log(1 − p) at x.
func logs(x float64) (logP, logQ float64) {
	soft := math.Log1p(math.Exp(-math.Abs(x)))
	return min(x, 0) - soft, min(-x, 0) - soft
}
