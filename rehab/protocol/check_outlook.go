package protocol

import (
	"fmt"
	"math"

	"footing/rehab"
	"footing/rehab/outlook"
)

// outlook checks the prior of the return times; a file may do without one. That its sizes and odds
// are those of the quartiles beside them is worked out, so that neither can be changed alone.
func (c *checker) outlook() {
	o := c.p.Prior
	if len(o.Courses)+len(o.Stages)+len(o.Grades) == 0 && o.PaceA == 0 && o.PaceB == 0 {
		return
	}
	c.need("outlook.population", o.Population)
	c.need("outlook.source", o.Source)
	c.need("outlook.pace_source", o.PaceSource)
	c.positive("outlook.pace_a", o.PaceA)
	c.positive("outlook.pace_b", o.PaceB)
	if o.Enough < 1 {
		c.fault("outlook.enough", "must be at least 1")
	}
	if !(0 < o.Possible && o.Possible < o.Likely && o.Likely < 1) {
		c.fault("outlook.likely", "must be a chance above possible, both between 0 and 1")
	}
	before := len(c.faults)
	c.outlookStages(o)
	c.outlookGrades(o)
	c.outlookCourses(o)
	if len(c.faults) == before {
		c.quartiles(o)
	}
}

func (c *checker) positive(field string, x float64) {
	if !(x > 0) || math.IsInf(x, 0) {
		c.fault(field, "must be above 0")
	}
}

func (c *checker) outlookStages(o rehab.Prior) {
	c.unique("outlook.stage", keys(o.Stages, func(s rehab.StagePrior) string { return s.Stage }))
	sum := 0.0
	for i, s := range o.Stages {
		at := fmt.Sprintf("outlook.stage[%d]", i)
		c.need(at+".source", s.Source)
		c.positive(at+".share", s.Share)
		sum += s.Share
		if _, rank := c.p.Stage(s.Stage); s.Stage == "" || rank < 0 || rank == len(c.p.Stages)-1 {
			c.fault(at+".stage", "%q is no stage of treatment", s.Stage)
		}
	}
	if n := len(c.p.Stages) - 1; len(o.Stages) != n || math.Abs(sum-1) > 1e-9 {
		c.fault("outlook.stage[0]", "every one of the %d stages before the last needs a share, and together they are 1, not %.4g", n, sum)
	}
}

func (c *checker) outlookGrades(o rehab.Prior) {
	for i, g := range o.Grades {
		at := fmt.Sprintf("outlook.grade[%d]", i)
		c.need(at+".source", g.Source)
		c.positive(at+".times", g.Times)
		if g.Grade < 1 || g.Grade > 3 {
			c.fault(at+".grade", "goes from 1 to 3")
		}
		if i > 0 && (g.Grade <= o.Grades[i-1].Grade || g.Times < o.Grades[i-1].Times) {
			c.fault(at, "grades go up, and a higher one takes no less time")
		}
	}
}

func (c *checker) outlookCourses(o rehab.Prior) {
	c.unique("outlook.course", keys(o.Courses, func(p rehab.CoursePrior) string { return p.Course }))
	for i, p := range o.Courses {
		at := fmt.Sprintf("outlook.course[%d]", i)
		c.need(at+".source", p.Source)
		c.need(at+".fitted_source", p.Fitted)
		c.positive(at+".size", p.Size)
		c.positive(at+".odds", p.Odds)
		if course, ok := c.p.Course(p.Course); !ok || !course.Guided {
			c.fault(at+".course", "%q is no guided course", p.Course)
		}
		if p.Lower < 0 || p.Median < p.Lower || p.Upper < p.Median || p.Upper > outlook.Horizon || p.Within < 0 {
			c.fault(at+".median", "must lie between lower and upper, all of them between 0 and %d days", outlook.Horizon)
		}
	}
}

func (c *checker) quartiles(o rehab.Prior) {
	m, err := outlook.New(c.p)
	if err != nil {
		c.fault("outlook", "%s", err)
		return
	}
	pace := outlook.Learn(m, nil)
	for i, p := range o.Courses {
		at := fmt.Sprintf("outlook.course[%d].size", i)
		f, err := pace.Forecast(outlook.Ask{Course: p.Course})
		if err != nil {
			c.fault(at, "%s", err)
			continue
		}
		for _, q := range []struct {
			at   float64
			want int
		}{{0.25, p.Lower}, {0.5, p.Median}, {0.75, p.Upper}} {
			if got, _ := f.Quantile(q.at); got < q.want-p.Within || got > q.want+p.Within {
				c.fault(at, "%g of all are back within %d days by this, within %d as printed", q.at, got, q.want)
			}
		}
	}
}
