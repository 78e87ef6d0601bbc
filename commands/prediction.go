package commands

import (
	"context"
	"errors"
	"strings"
	"time"

	"footing/rehab"
	"footing/rehab/outlook"
)

// club is a roster with what its ankles tell of its pace.
type club struct {
	roster  []rehab.Athlete
	entries map[int64][]rehab.Entry
	states  map[int64]rehab.Assessment
	prior   rehab.Prior
	stages  *rehab.Protocol // whose stages the model knows: the team's
	model   *outlook.Model  // nil where the protocol has no times to start from
	pace    outlook.Pace
}

// readClub reads the active roster as of env.Now.
func readClub(ctx context.Context, env *Env) (club, error) {
	roster, err := env.Records.Athletes(ctx)
	if err != nil {
		return club{}, err
	}
	entries, err := env.Records.TeamEntries(ctx)
	if err != nil {
		return club{}, err
	}
	return newClub(env, roster, entries), nil
}

func newClub(env *Env, roster []rehab.Athlete, entries map[int64][]rehab.Entry) club {
	c := club{roster: roster, entries: entries, states: map[int64]rehab.Assessment{}}
	for _, a := range roster {
		c.states[a.ID] = env.read(a, entries[a.ID])
	}
	c.learn(env)
	return c
}

// clubOf is the club of a squad in hand.
func clubOf(env *Env, squad []standingOf) club {
	c := club{states: map[int64]rehab.Assessment{}}
	for _, m := range squad {
		c.roster, c.states[m.ID] = append(c.roster, m.Athlete), m.state
	}
	c.learn(env)
	return c
}

// learn works out the club's pace from every ankle, open or not.
func (c *club) learn(env *Env) {
	c.prior, c.stages = env.Protocol.Prior, env.Protocol
	m, err := outlook.New(env.Protocol)
	if err != nil {
		return
	}
	var episodes []outlook.Episode
	for _, a := range c.roster {
		for _, v := range c.states[a.ID].Views {
			episodes = append(episodes, outlook.Of(v, v.Stints(env.Now)))
		}
	}
	c.model, c.pace = &m, outlook.Learn(m, episodes)
}

var errNoOutlook = errors.New("no outlook for this ankle")

// forecast is the days that are left of an ankle; of a held one, from the day the hold is lifted, on
// the course it is then likely to take.
func (c club) forecast(v rehab.View, now time.Time) (outlook.Forecast, error) {
	if c.model == nil || !v.Course.Guided || v.Rank < 0 {
		return outlook.Forecast{}, errNoOutlook
	}
	e := outlook.Of(v, v.Stints(now))
	if v.Screening.Held(v.P) && v.Screening.Course == "" {
		e.Course = likelyCourse(v.Screening)
	}
	_, rank := c.stages.Stage(v.Stage.Key) // an open episode may follow another protocol, with other stages
	if rank < 0 {
		return outlook.Forecast{}, errNoOutlook
	}
	f, err := c.pace.Forecast(c.model.Left(e, rank))
	if v.Screening.Held(v.P) {
		return f, err // its days run from another day
	}
	return f.NotBefore(v.Soonest(now)), err
}

// prediction is when an athlete will be back from everything that limits them.
type prediction struct {
	f     outlook.Forecast
	from  string // last local day of another limit, before which nobody is back
	why   string // there is none
	waits bool   // because something other than the ankle has no end
}

// back puts the ankles under treatment and the other limits together. Without a why it is good to
// tell coaches, who read nothing of an ankle that is held or not cleared.
func (c club) back(state rehab.Assessment, now time.Time) prediction {
	var p prediction
	if !state.State.Alert.IsZero() {
		return prediction{why: "they said that something is wrong, and nobody has examined them since"}
	}
	ankles := 0
	for _, v := range state.Open() {
		if v.Playing.On {
			continue
		}
		f, err := c.forecast(v, now)
		switch {
		case err != nil:
			return prediction{why: "an ankle has no outlook"}
		case v.Screening.Held(v.P):
			return prediction{why: "an ankle is held"}
		}
		if ankles++; ankles == 1 {
			p.f = f
		} else {
			p.f = p.f.And(f)
		}
	}
	if ankles == 0 {
		return prediction{why: "no ankle is under treatment"}
	}
	for _, r := range state.State.Current(now) {
		if r.Until == "" {
			return prediction{why: "another limit stands, and nobody has said until when", waits: true}
		}
		p.from = max(p.from, r.Until)
	}
	if _, _, open := p.f.Range(likelyPart); open {
		return prediction{why: "it may take over a year"}
	}
	return p
}

// likelyPart is the range of which coaches read that an athlete is likely back in it: 8 in 10.
const likelyPart = 0.8

// by is the chance to be back on a day or before.
func (p prediction) by(day, now time.Time) float64 {
	day = day.In(now.Location())
	if p.from != "" && day.Format(time.DateOnly) <= p.from {
		return 0
	}
	return p.f.By(rehab.DaysBetween(now, day, now.Location()))
}

// says is both ranges: "half are back Mon 9 – Mon 16 Mar, 8 in 10 Fri 6 – Fri 27 Mar."
func (p prediction) says(now time.Time) string {
	return "half are back " + p.dates(0.5, now) + ", 8 in 10 " + p.dates(0.8, now) + "."
}

// dates is the middle part of a prediction as days of the calendar.
func (p prediction) dates(part float64, now time.Time) string {
	from, to, open := p.f.Range(part)
	first, last := p.day(from, now), p.day(to, now)
	switch {
	case open:
		return "from " + dayOf(first.Format(time.DateOnly), now) + " to over a year on"
	case first.Equal(last):
		return dayOf(first.Format(time.DateOnly), now)
	case first.Year() == last.Year() && first.Month() == last.Month():
		return first.Format("Mon 2") + " – " + dayOf(last.Format(time.DateOnly), now)
	}
	return dayOf(first.Format(time.DateOnly), now) + " – " + dayOf(last.Format(time.DateOnly), now)
}

// day is so many days from now, but not before another limit is over.
func (p prediction) day(n int, now time.Time) time.Time {
	y, m, d := now.Date()
	day := time.Date(y, m, d+n, 12, 0, 0, 0, time.UTC)
	if last, err := time.Parse(time.DateOnly, p.from); err == nil {
		if free := last.AddDate(0, 0, 1).Add(12 * time.Hour); day.Before(free) {
			return free
		}
	}
	return day
}

// coachLine is what coaches read of when somebody limited by an ankle will be back, in no word of
// why; empty when nothing can be said.
func (c club) coachLine(state rehab.Assessment, matches []time.Time, now time.Time) string {
	if state.Ankle.Level == rehab.Full {
		return ""
	}
	for _, v := range state.Open() {
		if !v.Playing.On && !v.Screening.Cleared {
			return ""
		}
	}
	p := c.back(state, now)
	if p.why != "" {
		return ""
	}
	p.from = max(p.from, now.Format(time.DateOnly)) // who is not full today is back tomorrow at the earliest
	out := " Back likely " + p.dates(likelyPart, now)
	var chances []string
	for _, m := range matches {
		chances = append(chances, m.In(now.Location()).Format("Mon 2 Jan")+" match: "+c.word(p.by(m, now)))
	}
	if len(chances) == 0 {
		return out + "."
	}
	return out + "; " + strings.Join(chances, ", ") + "."
}
