package rehab

import "time"

// Party is who consents.
type Party string

// Who consents: the athlete, and for a minor a parent or guardian too.
const (
	ByAthlete  Party = "athlete"
	ByGuardian Party = "guardian"
)

// Adult is the age in years from which nobody else's consent is needed.
const Adult = 18

// Minor reports whether an athlete is under age on a day. Where no birth is known they count as grown up,
// unless the team is strict with minors.
func (a Athlete) Minor(day time.Time, strict bool) bool {
	years, known := a.AgeOn(day)
	return known && years < Adult || !known && strict
}

// Consent is what was last said of being asked and written to, by each party.
type Consent struct {
	Athlete, Guardian Agreement
}

// Agreement is one party's last word. The zero value is silence.
type Agreement struct {
	Version int // of the text it was said to
	Given   bool
	At      time.Time
}

// Silent reports whether the party has said nothing to a version of the text.
func (a Agreement) Silent(version int) bool { return a.At.IsZero() || a.Version != version }

// Lacks tells whose consent to a version of the text is missing, the athlete's before the guardian's;
// empty when all who must agree have agreed.
func (c Consent) Lacks(version int, minor bool) Party {
	ok := func(a Agreement) bool { return a.Given && !a.Silent(version) }
	switch {
	case !ok(c.Athlete):
		return ByAthlete
	case minor && !ok(c.Guardian):
		return ByGuardian
	}
	return ""
}

// consent is the last word of each party. What an account said does not count once another is linked.
// The entries come in the order they were logged.
func consent(entries []Entry) Consent {
	var c Consent
	for _, e := range entries {
		switch b := e.Body.(type) {
		case Linked, Departed:
			c.Athlete = Agreement{}
		case Consented:
			said := Agreement{Version: b.Version, Given: b.Given, At: e.At}
			if b.By == ByGuardian {
				c.Guardian = said
			} else {
				c.Athlete = said
			}
		}
	}
	return c
}
