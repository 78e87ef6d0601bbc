package protocol

import (
	"fmt"
	"slices"
	"strings"

	"footing/rehab"
)

// What a catalogue must hold, so that a plan can be made in any stage with whatever kit there is.
const (
	fewestDrills  = 36
	fewestOfAKind = 5 // drills per stage for each of kinds
	fewestLevels  = 2
	mostLevels    = 5
	mostMinutes   = 6 // of one drill in a session of ten
)

// kinds are the kits for which every stage must have drills of its own. A band or a ball and a partner
// are all that a pitch is sure to have.
var kinds = []struct {
	name string
	is   func(kit []string) bool
}{
	{"nothing", func(kit []string) bool { return len(kit) == 0 }},
	{"a band", func(kit []string) bool { return slices.Contains(kit, "band") && only(kit, "band", "partner") }},
	{"ball and partner", func(kit []string) bool { return len(kit) == 2 && only(kit, "ball", "partner") }},
}

func only(list []string, allowed ...string) bool {
	return !slices.ContainsFunc(list, func(s string) bool { return !slices.Contains(allowed, s) })
}

// drills checks the catalogue.
func (c *checker) drills() {
	c.unique("drill", keys(c.p.Drills, func(d rehab.Drill) string { return d.Key }))
	for i, d := range c.p.Drills {
		at := fmt.Sprintf("drill[%d]", i)
		c.need(at+".name", d.Name)
		c.need(at+".cue", d.Cue)
		c.need(at+".stop", d.Stop)
		c.need(at+".source", d.Source)
		c.oneOf(at+".quality", d.Quality, rehab.Qualities...)
		for j, k := range d.Kit {
			if c.oneOf(at+".kit", k, rehab.Kits...); slices.Contains(d.Kit[:j], k) {
				c.fault(at+".kit", "%q is there twice", k)
			}
		}
		c.ball(at+".ball", d)
		if c.drillStages(at+".stages", d.Stages) {
			c.ladder(at, d)
		}
	}
	c.enough()
	c.trained()
}

func (c *checker) ball(at string, d rehab.Drill) {
	for sport, how := range d.Ball {
		c.oneOf(at+"."+sport, sport, rehab.Sports...)
		c.need(at+"."+sport, how)
	}
	if len(d.Ball) > 0 && !slices.Contains(d.Kit, "ball") {
		c.fault(at, "is for drills that need a ball")
	}
}

// drillStages checks that a drill's stages are there and in the order of the course.
func (c *checker) drillStages(at string, stages []string) bool {
	before := -1
	for _, s := range stages {
		_, rank := c.p.Stage(s)
		switch {
		case rank < 0 || s == "":
			c.fault(at, "%q is no stage", s)
			return false
		case rank <= before:
			c.fault(at, "%q does not come after the one before it", s)
			return false
		}
		before = rank
	}
	if len(stages) == 0 {
		c.fault(at, "needs at least one")
	}
	return len(stages) > 0
}

// ladder checks a drill's levels: each can be reached, none asks less of the ground than the one
// before it, and nothing leaves the ground where a stage keeps the feet down.
func (c *checker) ladder(at string, d rehab.Drill) {
	if n := len(d.Levels); n < fewestLevels || n > mostLevels {
		c.fault(at+".level", "needs %d to %d levels, easy to hard; has %d", fewestLevels, mostLevels, n)
	}
	first, from := c.p.Stage(d.Stages[0])
	if d.Runs && !first.Contacts {
		c.fault(at+".runs", "the feet stay on the ground in %s", first.Name)
	}
	contacts := 0
	for i, l := range d.Levels {
		here := fmt.Sprintf("%s.level[%d]", at, i)
		c.need(here+".dose", l.Dose)
		if l.Minutes < 1 || l.Minutes > mostMinutes {
			c.fault(here+".minutes", "must be 1 to %d", mostMinutes)
		}
		if l.Contacts < contacts {
			c.fault(here+".contacts", "must not fall: the level before has %d", contacts)
		}
		contacts = max(contacts, l.Contacts)
		if d.Runs && l.Contacts > 0 {
			c.fault(here+".contacts", "running counts in minutes, not in contacts")
		}
		if l.From != "" {
			_, rank := c.p.Stage(l.From)
			switch {
			case !d.In(l.From):
				c.fault(here+".from", "%q is no stage of this drill", l.From)
			case i == 0 && rank > from:
				c.fault(here+".from", "no level can be done in %s, the drill's first stage", d.Stages[0])
			case rank < from:
				c.fault(here+".from", "%q comes before the stage of the level before", l.From)
			}
			from = max(from, rank)
		}
		if s := c.p.Stages[from]; l.Contacts > 0 && !s.Contacts {
			c.fault(here+".contacts", "the feet stay on the ground in %s", s.Name)
		}
	}
}

// enough checks that there are drills for every stage and kit.
func (c *checker) enough() {
	if n := len(c.p.Drills); n < fewestDrills {
		c.fault("drill", "needs at least %d drills; has %d", fewestDrills, n)
	}
	for i, s := range c.p.Stages {
		for _, kind := range kinds {
			n := 0
			for _, d := range c.p.Drills {
				if d.In(s.Key) && kind.is(d.Kit) {
					n++
				}
			}
			if n < fewestOfAKind {
				c.fault(fmt.Sprintf("stage[%d]", i), "needs at least %d drills with %s; has %d", fewestOfAKind, kind.name, n)
			}
		}
	}
}

// trained checks the tests' qualities, and that whatever a gate asks for has been trained by the time
// it is asked.
func (c *checker) trained() {
	for i, t := range c.p.Tests {
		at := fmt.Sprintf("test[%d]", i)
		if t.Quality != "" {
			c.oneOf(at+".quality", t.Quality, rehab.Qualities...)
		}
		if t.Contacts < 0 || t.CountContacts && t.Contacts > 0 {
			c.fault(at+".contacts", "cannot be negative, and does not go with count_contacts")
		}
	}
	first := map[string]int{} // by quality, the earliest stage that trains it
	for _, d := range c.p.Drills {
		for _, s := range d.Stages {
			_, rank := c.p.Stage(s)
			if was, known := first[d.Quality]; rank >= 0 && (!known || rank < was) {
				first[d.Quality] = rank
			}
		}
	}
	for i, g := range c.p.Gates {
		_, from := c.p.Stage(g.From)
		for j, cr := range g.Criteria {
			at := fmt.Sprintf("gate[%d].criterion[%d].test", i, j)
			for _, key := range testsOf(cr) {
				t, _ := c.p.Test(key)
				if rank, known := first[t.Quality]; t.Quality != "" && (!known || rank > from) {
					c.fault(at, "%s asks for %s, which no drill trains up to %s", key, t.Quality, g.From)
				}
			}
		}
	}
}

// testsOf are the tests that may meet a criterion.
func testsOf(cr rehab.Criterion) []string {
	out := []string{cr.Test}
	for _, alt := range cr.Or {
		out = append(out, testsOf(alt)...)
	}
	return slices.DeleteFunc(out, func(key string) bool { return strings.TrimSpace(key) == "" })
}
