package protocol

import (
	"fmt"
	"slices"

	"footing/rehab"
)

// drills checks the catalogue.
func (c *checker) drills() {
	for i, d := range c.p.Drills {
		at := fmt.Sprintf("drill[%d]", i)
		for field, value := range map[string]string{"name": d.Name, "cue": d.Cue, "stop": d.Stop, "source": d.Source} {
			c.need(at+"."+field, value)
		}
		if !slices.Contains(rehab.Qualities, d.Quality) {
			c.fault(at+".quality", "%q is none of %v", d.Quality, rehab.Qualities)
		}
		if len(d.Stages) == 0 {
			c.fault(at+".stages", "needs at least one")
		}
		for _, s := range d.Stages {
			if _, rank := c.p.Stage(s); rank < 0 || s == "" {
				c.fault(at+".stages", "%q is no stage", s)
			}
		}
	}
}
