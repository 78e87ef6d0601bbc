package commands

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"footing/rehab"
	"footing/rehab/outlook"
)

type outlookArgs struct{ Athlete rehab.Athlete }

// OutlookCmd says when they will be back: ranges, never a day.
var OutlookCmd = New(Def[outlookArgs]{
	Name:    "outlook",
	Also:    []string{"prognosis", "when back", "eta"},
	Summary: "When they are likely back, as ranges; without an athlete everyone under treatment, and how past outlooks did.",
	Needs:   rehab.ReadMedical,
	Privacy: MedicalOnly,
	Looks:   true,
	Fields: func(a *outlookArgs) []Field {
		return []Field{Opt(Athlete(&a.Athlete))}
	},
	Subject:  func(a *outlookArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"outlook 7", "outlook"},
	Run: func(ctx context.Context, env *Env, a outlookArgs) (Reply, error) {
		c, err := readClub(ctx, env)
		if err != nil {
			return Reply{}, err
		}
		matches, err := nextMatches(ctx, env)
		if err != nil {
			return Reply{}, err
		}
		if a.Athlete.ID == 0 {
			return outlookList(env, c), nil
		}
		return outlookCard(env, c, a.Athlete, matches), nil
	},
})

// shownMatches is how many of the team's next matches an outlook speaks of.
const shownMatches = 3

// nextMatches lists when the team's next matches start.
func nextMatches(ctx context.Context, env *Env) ([]time.Time, error) {
	cal, err := env.Calendar(ctx)
	if err != nil {
		return nil, err
	}
	var out []time.Time
	for m, ok := cal.NextMatch(env.Now); ok && len(out) < shownMatches; m, ok = cal.NextMatch(m.Start) {
		out = append(out, m.Start)
	}
	return out, nil
}

// outlookCard is all that is known of when one athlete will be back.
func outlookCard(env *Env, c club, a rehab.Athlete, matches []time.Time) Reply {
	state := c.states[a.ID]
	reply := Reply{Health: true}
	open := state.Open()
	for _, v := range open {
		reply.Lines = append(reply.Lines, c.ankleOutlook(a, v, env.Now))
	}
	if len(open) == 0 {
		reply.Lines = append(reply.Lines, a.Label()+": no ankle under treatment.")
		return reply
	}
	back := c.back(state, env.Now)
	switch {
	case back.why != "" && len(open) > 1:
		reply.Lines = append(reply.Lines, "No dates for both together: "+back.why+".")
	case back.why != "" && back.waits:
		reply.Lines = append(reply.Lines, "No dates: "+back.why+".")
	}
	if back.why != "" {
		return c.basis(reply, open)
	}
	if len(open) > 1 {
		reply.Lines = append(reply.Lines, "Both: "+back.says(env.Now))
	}
	if back.from != "" {
		reply.Lines = append(reply.Lines, "Not before the end of "+dayOf(back.from, env.Now)+": another limit stands till then.")
	}
	var chances []string
	for _, m := range matches {
		p := back.by(m, env.Now)
		chances = append(chances, fmt.Sprintf("%s %s (%s)", m.In(env.Now.Location()).Format("Mon 2 Jan"), c.word(p), percent(p)))
	}
	if len(chances) > 0 {
		reply.Lines = append(reply.Lines, "Back for the match: "+strings.Join(chances, "; ")+".")
	}
	return c.basis(reply, open)
}

// ankleOutlook is one ankle's line: dates, or days from the day its hold is lifted.
func (c club) ankleOutlook(a rehab.Athlete, v rehab.View, now time.Time) string {
	head := fmt.Sprintf("%s, %s, day %d%s: ", name(a, v), v.Stage.Name, v.Day, grade(v))
	f, err := c.forecast(v, now)
	switch {
	case v.Playing.On:
		return name(a, v) + ": playing on, nothing to come back from."
	case !v.Course.Guided:
		return head + "no guided course, so no outlook. Medical staff judge."
	case err != nil:
		return head + "this protocol has no times to start from, so no outlook."
	case v.Screening.Held(v.P):
		return head + "held, so no dates. From the day the hold is lifted, " + c.onto(v) + ": half are back in " + daysRange(f, 0.5) + ", 8 in 10 in " + daysRange(f, 0.8) + "."
	}
	out := head + prediction{f: f}.says(now)
	if !v.Screening.Cleared {
		out += " Not cleared yet: a sprain is taken for granted."
	}
	return out
}

// onto names the course a held ankle is reckoned to leave its hold for.
func (c club) onto(v rehab.View) string {
	course := v.Course
	if likely, ok := v.P.Course(likelyCourse(v.Screening)); ok && v.Screening.Course == "" {
		course = likely
	}
	return "as a " + course.Name
}

// basis says what an outlook rests on.
func (c club) basis(reply Reply, open []rehab.View) Reply {
	if !slices.ContainsFunc(open, func(v rehab.View) bool { return v.Course.Guided && !v.Playing.On }) || c.model == nil {
		return reply
	}
	reply.Lines = append(reply.Lines, upper(c.restsOn())+". If nothing sets it back.")
	return reply
}

func (c club) restsOn() string {
	out := "from published figures of " + c.prior.Population
	if c.pace.Stages >= c.prior.Enough {
		out += fmt.Sprintf(", and %d finished stages of this club's", c.pace.Stages)
	}
	return out
}

// outlookList is a line for every ankle under treatment, and how past outlooks did.
func outlookList(env *Env, c club) Reply {
	reply := Reply{Health: true}
	for _, a := range c.roster {
		for _, v := range c.states[a.ID].Open() {
			reply.Lines = append(reply.Lines, "• "+c.ankleOutlook(a, v, env.Now))
		}
	}
	if len(reply.Lines) == 0 {
		reply.Lines = []string{"Nobody is under treatment."}
	}
	s := c.score(env)
	if s.n == 0 {
		reply.Lines = append(reply.Lines, "Past outlooks: none to compare yet.")
	} else {
		reply.Lines = append(reply.Lines, fmt.Sprintf("Past outlooks, as of the day after injury: of %d back since, %d came back inside the 8-in-10 range, %d inside the half range.", s.n, s.in80, s.in50))
	}
	if c.model != nil {
		reply.Lines = append(reply.Lines, upper(c.restsOn())+".")
	}
	return reply
}

// word says a chance in words.
func (c club) word(p float64) string {
	switch {
	case p >= c.prior.Likely:
		return "likely"
	case p >= c.prior.Possible:
		return "possible"
	}
	return "unlikely"
}

func percent(p float64) string {
	switch n := int(p*100 + 0.5); {
	case n < 1:
		return "under 1 %"
	case n > 99:
		return "over 99 %"
	default:
		return fmt.Sprintf("%d %%", n)
	}
}

func daysRange(f outlook.Forecast, part float64) string {
	from, to, open := f.Range(part)
	switch {
	case open:
		return fmt.Sprintf("%d days to over a year", from)
	case from == to:
		return plural(from, "day")
	}
	return fmt.Sprintf("%d–%d days", from, to)
}
