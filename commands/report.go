package commands

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"footing/rehab"
)

// Report tells coaches who can do what.
var Report = New(Def[struct{}]{
	Name:     "report",
	Also:     []string{"availability"},
	Summary:  "Who is full, modified or unavailable today.",
	Needs:    rehab.ReadAvailability,
	Privacy:  Staff,
	Examples: []string{"report"},
	Run: func(ctx context.Context, env *Env, _ struct{}) (Reply, error) {
		text, _, err := Availability(ctx, env)
		return Reply{Lines: text}, err
	},
})

// Availability writes the availability report as of env.Now, and gives what it told of each
// athlete. It holds no diagnosis, cause, test or note: only levels, what may be done, and days out.
func Availability(ctx context.Context, env *Env) ([]string, map[int64]rehab.Availability, error) {
	squad, err := readSquad(ctx, env)
	if err != nil {
		return nil, nil, err
	}
	matches, err := nextMatches(ctx, env)
	if err != nil {
		return nil, nil, err
	}
	out, told := availabilityLines(env, squad, matches)
	changed, err := changes(ctx, env, squad)
	if err != nil {
		return nil, nil, err
	}
	if changed != "" {
		out = append(out, changed)
	}
	if slices.ContainsFunc(squad, func(m standingOf) bool { return m.Level != rehab.Full }) {
		out = append(out, "Questions and return dates: ask the medical staff, who decide.")
	}
	return out, told, nil
}

// availabilityLines is the report's body. Of an ankle it adds when the athlete is likely back.
func availabilityLines(env *Env, squad []standingOf, matches []time.Time) ([]string, map[int64]rehab.Availability) {
	c := clubOf(env, squad)
	told := map[int64]rehab.Availability{}
	byLevel := map[rehab.Level][]string{}
	for _, m := range squad {
		told[m.ID] = m.Availability
		byLevel[m.Level] = append(byLevel[m.Level], athleteLine(m.Athlete, m.Availability, env.Now, c.coachLine(m.state, matches, env.Now)))
	}
	full := len(byLevel[rehab.Full])
	out := []string{fmt.Sprintf("Availability, %s: %d of %d full.", env.Now.Format("Mon 2 Jan"), full, len(squad))}
	for _, level := range []rehab.Level{rehab.Unavailable, rehab.Modified} {
		if len(byLevel[level]) > 0 {
			out = append(out, upper(string(level))+":")
			out = append(out, byLevel[level]...)
		}
	}
	return out, told
}

// athleteLine is one athlete's line, with when they are likely back where that is known.
func athleteLine(a rehab.Athlete, av rehab.Availability, now time.Time, back string) string {
	out := "• " + a.Label() // not the position: it is free text
	if av.Out > 0 {
		out += ", " + plural(av.Out, "day") + " out"
	}
	return out + rehab.Prefixed(",", until(av.Until, now)) + "." + stop(canCannot(av, now)) + back
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}

// changes compares with what staff were last told.
func changes(ctx context.Context, env *Env, squad []standingOf) (string, error) {
	date, before, err := env.Records.Told(ctx, env.Now.Format(time.DateOnly))
	if err != nil || before == nil {
		return "", err
	}
	var out []string
	for _, is := range squad {
		was, known := before[is.ID]
		switch {
		case !known && is.Level == rehab.Full:
		case !known:
			out = append(out, fmt.Sprintf("%s new, %s", is.Label(), is.Level))
		case was.Level != is.Level:
			out = append(out, fmt.Sprintf("%s %s → %s", is.Label(), was.Level, is.Level))
		case !was.Same(is.Availability):
			out = append(out, is.Label()+" restrictions")
		}
	}
	since := "yesterday"
	if d, err := time.Parse(time.DateOnly, date); err == nil && rehab.DaysBetween(d, dateOf(env.Now), time.UTC) != 1 {
		since = d.Format("Mon 2 Jan")
	}
	if len(out) == 0 {
		return "Changed since " + since + ": nothing.", nil
	}
	return "Changed since " + since + ": " + strings.Join(out, "; ") + ".", nil
}

// Correction is what staff are told at once when an athlete's availability is no longer what they
// read this morning; empty when it still is. Like the report it never says why.
func Correction(ctx context.Context, env *Env, a rehab.Athlete, read rehab.Availability) (string, rehab.Availability, error) {
	state, err := env.Assess(ctx, a)
	if err != nil || state.Same(read) {
		return "", state.Availability, err
	}
	turns := " now "
	if read.Level == state.Level {
		turns = " still " // only what they can or cannot do changed
	}
	return "Correction: " + a.Label() + turns + standing(state.Availability, env.Now), state.Availability, nil
}
