package outlook

import (
	"errors"
	"fmt"

	"footing/rehab"
)

// Model is a protocol's prior made ready.
type Model struct {
	stages []string // of the course, without the last, in which the athlete is back
	share  map[string]float64
	course map[string]rehab.CoursePrior
	grade  map[int]float64
	a, b   float64
}

// ErrNoPrior is returned for a course, or a whole protocol, of which nothing is known beforehand.
var ErrNoPrior = errors.New("no published times to start from")

// New makes a model of a protocol's stages and prior. The error is ErrNoPrior where the protocol has
// none; what package protocol checks is not checked again.
func New(p *rehab.Protocol) (Model, error) {
	o := p.Prior
	if len(o.Courses) == 0 || len(p.Stages) < 2 || !(o.PaceA > 0 && o.PaceB > 0) {
		return Model{}, ErrNoPrior
	}
	m := Model{share: map[string]float64{}, course: map[string]rehab.CoursePrior{}, grade: map[int]float64{0: 1}, a: o.PaceA, b: o.PaceB}
	for _, s := range p.Stages[:len(p.Stages)-1] {
		m.stages = append(m.stages, s.Key)
	}
	for _, s := range o.Stages {
		m.share[s.Stage] = s.Share
	}
	for _, c := range o.Courses {
		m.course[c.Course] = c
	}
	for _, g := range o.Grades {
		m.grade[g.Grade] = g.Times
	}
	return m, nil
}

// size is r of one stage; 0 where nothing is known of it.
func (m Model) size(course string, grade int, stage string) float64 {
	times, ok := m.grade[grade]
	if !ok {
		times = 1
	}
	return m.course[course].Size * m.share[stage] * times
}

// Episode is what one course tells of a club's pace.
type Episode struct {
	Course string
	Grade  int // 1–3, 0 when not known
	Stints []rehab.Stint
}

// Of takes from an ankle what the model needs of it.
func Of(v rehab.View, stints []rehab.Stint) Episode {
	return Episode{Course: v.Course.Key, Grade: v.Grade, Stints: stints}
}

// Ask asks for the days that are left of an episode.
type Ask struct {
	Course string
	Grade  int   // 1–3, 0 when not known
	Rank   int   // of the present stage, 0 first; at the end nothing is left
	Spent  []int // days already put into each stage by rank; those of stages before Rank count for nothing, missing ones are 0
}

// Left asks for what is left of an episode whose present stage is known.
func (m Model) Left(e Episode, rank int) Ask {
	ask := Ask{Course: e.Course, Grade: e.Grade, Rank: rank, Spent: make([]int, len(m.stages))}
	for _, s := range e.Stints {
		for i, key := range m.stages {
			if key == s.Stage && !s.Finished {
				ask.Spent[i] = s.Days
			}
		}
	}
	return ask
}

// check says what is wrong with a question.
func (m Model) check(a Ask) error {
	if _, ok := m.course[a.Course]; !ok {
		return fmt.Errorf("course %q: %w", a.Course, ErrNoPrior)
	}
	if _, ok := m.grade[a.Grade]; !ok {
		return fmt.Errorf("grade %d is none of the model's", a.Grade)
	}
	if a.Rank < 0 || a.Rank > len(m.stages) {
		return fmt.Errorf("stage %d: the course has %d", a.Rank, len(m.stages))
	}
	for _, d := range a.Spent {
		if d < 0 {
			return fmt.Errorf("%d days in a stage: cannot be negative", d)
		}
	}
	return nil
}
