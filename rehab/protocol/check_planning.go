package protocol

import (
	"fmt"
	"slices"

	"footing/rehab"
)

// Nobody drills for longer than three hours, and nothing about an ankle stands for longer than ten years
// (common practice): a number above is a slip, and longer plans take long to choose.
const (
	longestPlan = 180
	mostMonths  = 120
)

// planning checks how today's drills are chosen.
func (c *checker) planning() {
	pl := c.p.Planning
	c.need("planning.source", pl.Source)
	for _, x := range []struct {
		field string
		value int
	}{
		{"planning.minutes", pl.Minutes}, {"planning.most_minutes", pl.MostMinutes - pl.Minutes + 1},
		{"planning.weights.base", pl.Weights.Base}, {"planning.weights.days", pl.Weights.Days},
	} {
		if x.value < 1 {
			c.fault(x.field, "needs a number of at least 1, and most_minutes no less than minutes")
		}
	}
	if pl.MostMinutes > longestPlan {
		c.fault("planning.most_minutes", "is more than a session of drills can take: at most %d", longestPlan)
	}
	if pl.LeastDrill < 0 || pl.LeastDrill > pl.Minutes {
		c.fault("planning.least_drill", "cannot be negative, nor more than the minutes of a session")
	}
	for _, k := range pl.Kit {
		if !slices.Contains(rehab.Kits, k) {
			c.fault("planning.kit", "%q is none of %v", k, rehab.Kits)
		}
	}
	if _, rank := c.p.Stage(pl.SpacedUntil); rank < 0 || pl.SpacedUntil == "" {
		c.fault("planning.spaced_until", "%q is no stage", pl.SpacedUntil)
	}
	w := pl.Weights
	if len(w.Again) == 0 || w.Again[0] != 100 || !slices.IsSortedFunc(w.Again, func(a, b int) int { return b - a }) || w.Again[len(w.Again)-1] < 1 {
		c.fault("planning.weights.again", "starts with 100 and never rises, nor falls below 1")
	}
	if min(w.Lacks, w.Unknown, w.Deficit, w.Day, w.Fresh) < 0 {
		c.fault("planning.weights", "cannot be negative")
	}
	c.caps()
}

// caps checks that every stage in which the foot lands says how often.
func (c *checker) caps() {
	for i, k := range c.p.Planning.Caps {
		at := fmt.Sprintf("planning.cap[%d]", i)
		c.need(at+".source", k.Source)
		stage, rank := c.p.Stage(k.Stage)
		switch {
		case rank < 0 || k.Stage == "":
			c.fault(at+".stage", "%q is no stage", k.Stage)
		case !stage.Contacts:
			c.fault(at+".stage", "nothing leaves the ground in %s", k.Stage)
		case k.Session < 1 || k.Week < k.Session:
			c.fault(at+".session", "needs at least 1 contact a session and no fewer a week than a session")
		}
	}
	for _, s := range c.p.Stages {
		if s.Contacts && c.p.Planning.Cap(s.Key).Session == 0 {
			c.fault("planning.cap", "%s has ground contacts but no cap", s.Key)
		}
	}
}

// prevention checks the block after a return.
func (c *checker) prevention() {
	b := c.p.Prevention
	c.need("prevention.source", b.Source)
	if min(b.Weeks, b.PerWeek, b.Sprains, b.WithinMonths) < 1 || b.PerWeek > 7 || b.Lead < 0 {
		c.fault("prevention.weeks", "weeks, per_week (up to 7), sprains and within_months need at least 1, lead at least 0")
	}
	if b.StandsMonths < 0 || b.StandsMonths > mostMonths {
		c.fault("prevention.instability_months", "are at least 0 and at most %d", mostMonths)
	}
	if b.WithinMonths > mostMonths {
		c.fault("prevention.within_months", "are at most %d", mostMonths)
	}
	if t, ok := c.p.Test(b.Instability); !ok || t.Warn.Says == "" {
		c.fault("prevention.instability", "%q is no test with a warning", b.Instability)
	}
	if !slices.IsSorted(b.FollowUps) || len(b.FollowUps) > 0 && b.FollowUps[0] < 1 {
		c.fault("prevention.follow_ups", "are months from 1 on, in order")
	}
}
