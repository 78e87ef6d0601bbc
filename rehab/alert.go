package rehab

import "time"

// alert is the latest word of the athlete that something is wrong which medical staff have not answered
// since.
func alert(entries []Entry) time.Time {
	sides := map[int]Side{}
	for _, e := range entries {
		if b, ok := e.Body.(Sprained); ok && sides[e.Episode] == None {
			sides[e.Episode] = b.Side
		}
	}
	var latest time.Time
	for _, said := range entries {
		b, ok := said.Body.(Noted)
		if ok && b.Alert && said.At.After(latest) && !answered(said, entries, sides) {
			latest = said.At
		}
	}
	return latest
}

// SaidWrong says of an alert that stands when it was raised.
func SaidWrong(st State, now time.Time) string {
	return "said something is wrong, " + st.Alert.In(now.Location()).Format("Mon 15:04")
}

// answered reports whether medical staff looked at what an alert was about: at the ankle it names, by
// whatever episode that is treated now, or at any where it names none; or whether they say that they have
// seen the athlete, or that they are available.
func answered(said Entry, entries []Entry, sides map[int]Side) bool {
	about := sides[said.Episode]
	for _, e := range entries {
		if e.At.Before(said.At) || e.At.Equal(said.At) && e.Original() <= said.Original() {
			continue
		}
		switch b := e.Body.(type) {
		case Screened:
			if about == None || sides[e.Episode] == about {
				return true
			}
		case Noted:
			if b.Seen {
				return true
			}
		case Restricted:
			if b.Level == Full {
				return true
			}
		}
	}
	return false
}

// unseen stands before every gate while the athlete's word that something is wrong is not answered: no
// protocol file may leave it out.
func (g gateReader) unseen() []Result {
	if g.st.Alert.IsZero() {
		return nil
	}
	says := SaidWrong(g.st, g.now) + ": examine first"
	return []Result{{Criterion: Criterion{Key: "nothing-wrong"}, Status: NotMet, Says: says}}
}
