package rehab

import (
	"math"
	"slices"
	"time"
)

// Soonest is the fewest days from today in which an open episode can come back on its criteria: what the
// gates ahead still ask mornings for, one night each, and the healing floor before them. A clinician may
// override either; an outlook that promised less would promise what the gates forbid.
func (v View) Soonest(now time.Time) int {
	if !v.Open || !v.Course.Guided || v.Rank < 0 {
		return 0
	}
	day := 0
	for rank := v.Rank; rank < len(v.P.Stages)-1; rank++ {
		g, ok := v.P.Gate(v.P.Stages[rank].Key)
		if !ok {
			continue
		}
		day += v.nightsFor(g, rank == v.Rank)
		if f, ok := v.P.Floor(v.Course.Key, v.Grade); ok && slices.ContainsFunc(g.Criteria, func(c Criterion) bool { return c.Fact == "healing-floor" }) {
			day = max(day, f.Days-v.healing(now))
		}
	}
	return day
}

// nightsFor is how many nights a gate still asks for: of the present one, what is not met yet.
func (v View) nightsFor(g Gate, present bool) int {
	most := 0
	for _, c := range g.Criteria {
		if len(c.Courses) > 0 && !slices.Contains(c.Courses, v.Course.Key) {
			continue
		}
		nights := 0
		switch {
		case counts[c.Measure] != nil && c.AtLeast != nil:
			nights = int(math.Ceil(*c.AtLeast))
		case c.Then == "morning":
			nights = 1
		}
		if i := slices.IndexFunc(v.Gate, func(r Result) bool { return r.Criterion.Key == c.Key }); present && i >= 0 && nights > 0 {
			if v.Gate[i].Status == Met {
				nights = 0
			} else if counts[c.Measure] != nil {
				nights -= int(v.Gate[i].Value)
			}
		}
		most = max(most, nights)
	}
	return most
}
