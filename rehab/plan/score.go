package plan

import (
	"fmt"
	"time"

	"footing/rehab"
)

// scorer says what a drill is worth to an ankle today. What it asks of a quality it asks once.
type scorer struct {
	w      rehab.Weights
	today  time.Time
	gate   map[string]rehab.Result // by quality: the criterion that most keeps the next gate shut
	short  map[string]rehab.Shortfall
	last   map[string]time.Time // by quality: the local day it was last trained
	toward string               // the stage the gate leads to
}

func newScorer(a rehab.Assessment, v rehab.View, now time.Time) scorer {
	s := scorer{w: v.P.Planning.Weights, today: day(now), gate: map[string]rehab.Result{}, short: rehab.Shortfalls(a.State, v, now), last: v.LastTrained(now)}
	if v.Next != nil {
		s.toward = v.Next.Name
	}
	for _, r := range v.Gate {
		t, ok := v.P.Test(r.Criterion.Test)
		if !ok || t.Quality == "" || r.Status == rehab.Met {
			continue
		}
		if had, seen := s.gate[t.Quality]; !seen || had.Status != rehab.NotMet && r.Status == rehab.NotMet {
			s.gate[t.Quality] = r
		}
	}
	return s
}

// score gives a drill's points, always more than none, and the reasons for them, the weightiest first.
func (s scorer) score(r rehab.Rung) (points int, why []string) {
	q := r.Drill.Quality
	points = max(1, s.w.Base)
	if c, ok := s.gate[q]; ok && c.Status == rehab.NotMet {
		points, why = points+s.w.Lacks, append(why, s.toward+" needs it: "+c.Says)
	} else if ok {
		points, why = points+s.w.Unknown, append(why, s.toward+" asks for "+c.Criterion.Test)
	}
	if f, ok := s.short[q]; ok && f.Percent > 0 {
		points += s.w.Deficit * min(f.Percent, 100) / 10
		if c := s.gate[q]; c.Status != rehab.NotMet || c.Criterion.Test != f.Test { // said already
			why = append(why, fmt.Sprintf("%s %d %% short", f.Test, f.Percent))
		}
	}
	idle := s.idle(s.last[q])
	points += s.w.Day * idle
	switch {
	case s.last[q].IsZero():
		why = append(why, q+" not trained yet")
	case idle > 1:
		why = append(why, fmt.Sprintf("no %s for %d days", q, rehab.DaysBetween(s.last[q], s.today, time.UTC)))
	}
	points += s.w.Fresh * s.idle(r.Last)
	if len(why) == 0 {
		why = append(why, "keeps up "+q)
	}
	return points, why
}

// idle is how many days ago something was last done, up to the most that count.
func (s scorer) idle(last time.Time) int {
	if last.IsZero() {
		return s.w.Days
	}
	return min(s.w.Days, rehab.DaysBetween(last, s.today, time.UTC))
}
