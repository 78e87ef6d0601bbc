package commands

import (
	"context"
	"maps"
	"strings"
	"time"

	"footing/rehab"
)

// standingOf is an athlete with what coaches are told of them.
type standingOf struct {
	rehab.Athlete
	rehab.Availability
	state rehab.Assessment // never shown to coaches
}

// readSquad reads the active roster's availability as of env.Now, by shirt.
func readSquad(ctx context.Context, env *Env) ([]standingOf, error) {
	roster, err := env.Records.Athletes(ctx)
	if err != nil {
		return nil, err
	}
	entries, err := env.Records.TeamEntries(ctx)
	if err != nil {
		return nil, err
	}
	out := make([]standingOf, len(roster))
	for i, a := range roster {
		state := env.read(a, entries[a.ID])
		out[i] = standingOf{a, state.Availability, state}
	}
	return out, nil
}

// standing is what coaches read of one athlete: level, last day, can and cannot.
func standing(av rehab.Availability, now time.Time) string {
	return string(av.Level) + until(av.Until, now) + "." + stop(canCannot(av, now))
}

// until is " until the end of Fri 6 Mar", or nothing when no day was said: "until Friday" alone is
// also said of whoever is back on Friday.
func until(day string, now time.Time) string {
	return rehab.Prefixed(" until the end of ", dayOf(day, now))
}

// dayOf says a local day, with its year when that is not this one.
func dayOf(day string, now time.Time) string {
	d, err := time.Parse(time.DateOnly, day)
	switch {
	case err != nil:
		return day
	case d.Year() != now.Year():
		return d.Format("Mon 2 Jan 2006")
	}
	return d.Format("Mon 2 Jan")
}

// canCannot is what may and may not be done, with the day of each limit that does not end with the
// level itself.
func canCannot(av rehab.Availability, now time.Time) string {
	out := ""
	if len(av.Can) > 0 {
		out = " Can: " + strings.Join(av.Can, ", ") + "."
	}
	return strings.TrimSuffix(out+cannot(av.Cannot, otherEnds(av), now), ".")
}

// otherEnds are the last days of limits that do not end with the level itself.
func otherEnds(av rehab.Availability) map[string]string {
	out := maps.Clone(av.Ends)
	maps.DeleteFunc(out, func(_, day string) bool { return day == av.Until })
	return out
}

func cannot(list []string, ends map[string]string, now time.Time) string {
	var out []string
	for _, what := range list {
		out = append(out, what+until(ends[what], now))
	}
	return rehab.Prefixed(" Cannot: ", strings.Join(out, ", "))
}

// stop ends a sentence, if there is one.
func stop(sentence string) string {
	if sentence == "" {
		return ""
	}
	return sentence + "."
}
