package rehab

// TooMuch is why a test that was done loaded an ankle more than it was ready for.
type TooMuch string

// The reasons.
const (
	NotCleared TooMuch = "not cleared" // the screen has not passed: protection only
	AboveStage TooMuch = "above stage" // it belongs to a later stage, in which the foot leaves the ground
)

// Loaded reports whether a test that was done loaded the ankle more than it was ready for; empty when it did
// not. The record of it is kept all the same.
func (v View) Loaded(b Tested) TooMuch {
	t, _ := v.P.Test(b.Test)
	team := v.P.Planning.TeamSession[b.Choice] > 0
	switch {
	case !v.Open || v.Playing.On || b.Absent != "" || b.Side != None && b.Side != v.Side || !t.Loads && !team:
		return ""
	case !v.Screening.Cleared:
		return NotCleared
	case !v.Stage.Contacts && (team || v.P.lands(t)):
		return AboveStage
	}
	return ""
}

// lands reports whether a test belongs to a stage in which the foot leaves the ground: it has contacts itself,
// or is first asked for by the gate out of such a stage.
func (p *Protocol) lands(t Test) bool {
	if t.Contacts > 0 || t.CountContacts {
		return true
	}
	for _, g := range p.Gates {
		for _, c := range g.Criteria {
			if c.asks(t.Key) {
				s, _ := p.Stage(g.From)
				return s.Contacts
			}
		}
	}
	return false
}

// asks reports whether a criterion, or another reading of it, is about a test.
func (c Criterion) asks(test string) bool {
	if c.Test == test {
		return true
	}
	for _, o := range c.Or {
		if o.asks(test) {
			return true
		}
	}
	return false
}
