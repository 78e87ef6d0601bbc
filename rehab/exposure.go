package rehab

import (
	"maps"
	"slices"
	"time"
)

// Exposed is one session and how long each athlete took part in it: their exposure, in minutes (IOC
// consensus, Bahr 2020 BJSM 54:372: hours of athletes under risk, training and match apart). Who took
// no part is not in it.
type Exposed struct {
	Session Session
	Minutes map[int64]int // by athlete
}

// Hours are hours of exposure, of one athlete or of the team, training and match apart.
type Hours struct{ Training, Match float64 }

// Log is an athlete with all that is on record of them.
type Log struct {
	Athlete Athlete
	Entries []Entry
}

// Exposures lists the team's sessions that started from one moment up to, but not at, another and not
// after s.Now, with the minutes of each athlete. Who was on the roster and not unavailable as the session
// started took part for its whole length, also with limits: that is common practice. What staff said of
// it counts before that, the later word before the earlier. squad are the squad's own entries.
func Exposures(squad []Entry, athletes []Log, s Setting, from, to time.Time) []Exposed {
	var said []Attended
	for _, e := range inOrder(squad) {
		if b, ok := e.Body.(Attended); ok {
			said = append(said, b)
		}
	}
	var out []Exposed
	for _, session := range FoldCalendar(squad).Between(from, to) {
		if session.Start.After(s.Now) {
			break
		}
		x := Exposed{session, map[int64]int{}}
		for _, a := range athletes {
			if a.takesPart(session.Start, s) {
				x.Minutes[a.Athlete.ID] = session.Minutes
			}
		}
		for _, b := range said {
			if b.Session == session.What && b.Start.Equal(session.Start) {
				x.correct(b)
			}
		}
		out = append(out, x)
	}
	return out
}

// takesPart reports whether an athlete was on the roster and not unavailable at an instant, going by all
// that is known of that time now.
func (l Log) takesPart(at time.Time, s Setting) bool {
	known := slices.DeleteFunc(slices.Clone(l.Entries), func(e Entry) bool { return e.At.After(at) })
	on := false
	for _, e := range inOrder(known) {
		switch e.Body.(type) {
		case Joined:
			on = true
		case Departed:
			on = false
		}
	}
	s.Now = at.In(s.Now.Location())
	return on && Assess(Fold(l.Athlete, known), s).Level != Unavailable
}

func (x Exposed) correct(b Attended) {
	if b.Only {
		clear(x.Minutes)
	}
	for _, took := range b.Took {
		switch {
		case took.Minutes == 0:
			delete(x.Minutes, took.Athlete)
		case took.Minutes == WholeSession:
			x.Minutes[took.Athlete] = x.Session.Minutes
		default:
			x.Minutes[took.Athlete] = took.Minutes
		}
	}
}

// Total adds the hours of all athletes over some sessions.
func Total(list []Exposed) Hours {
	var h Hours
	for _, x := range list {
		for _, minutes := range x.Minutes {
			h.add(x.Session.What, minutes)
		}
	}
	return h
}

// HoursOf adds the hours of one athlete over some sessions.
func HoursOf(athlete int64, list []Exposed) Hours {
	var h Hours
	for _, x := range list {
		h.add(x.Session.What, x.Minutes[athlete])
	}
	return h
}

func (h *Hours) add(what string, minutes int) {
	if what == Match {
		h.Match += float64(minutes) / 60
	} else {
		h.Training += float64(minutes) / 60
	}
}

// Athletes lists who took part, by id.
func (x Exposed) Athletes() []int64 { return slices.Sorted(maps.Keys(x.Minutes)) }
