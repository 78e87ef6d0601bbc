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
	roster, err := env.Records.Athletes(ctx)
	if err != nil {
		return nil, nil, err
	}
	entries, err := env.Records.TeamEntries(ctx)
	if err != nil {
		return nil, nil, err
	}
	told := map[int64]rehab.Availability{}
	byLevel := map[rehab.Level][]string{}
	for _, a := range roster {
		av := env.read(a, entries[a.ID]).Availability
		told[a.ID] = av
		byLevel[av.Level] = append(byLevel[av.Level], athleteLine(a, av))
	}
	full := len(byLevel[rehab.Full])
	out := []string{fmt.Sprintf("Availability, %s: %d of %d full.", env.Now.Format("Mon 2 Jan"), full, len(roster))}
	for _, level := range []rehab.Level{rehab.Unavailable, rehab.Modified} {
		if len(byLevel[level]) > 0 {
			out = append(out, upper(string(level))+":")
			out = append(out, byLevel[level]...)
		}
	}
	changed, err := changes(ctx, env, roster, told)
	if err != nil {
		return nil, nil, err
	}
	if changed != "" {
		out = append(out, changed)
	}
	if full < len(roster) {
		out = append(out, "Questions and return dates: ask the medical staff, who decide.")
	}
	return out, told, nil
}

func athleteLine(a rehab.Athlete, av rehab.Availability) string {
	out := "• " + a.Label() // not the position: it is free text
	if av.Out > 0 {
		out += ", " + plural(av.Out, "day") + " out"
	}
	return out + "." + canCannot(av.Can, av.Cannot)
}

func canCannot(can, cannot []string) string {
	out := ""
	if len(can) > 0 {
		out += " Can: " + strings.Join(can, ", ") + "."
	}
	if len(cannot) > 0 {
		out += " Cannot: " + strings.Join(cannot, ", ") + "."
	}
	return strings.TrimSuffix(out, ".")
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}

// changes compares with what staff were last told.
func changes(ctx context.Context, env *Env, roster []rehab.Athlete, now map[int64]rehab.Availability) (string, error) {
	date, before, err := env.Records.Told(ctx, env.Now.Format(time.DateOnly))
	if err != nil || before == nil {
		return "", err
	}
	var out []string
	for _, a := range roster {
		was, known := before[a.ID]
		is := now[a.ID]
		switch {
		case !known && is.Level == rehab.Full:
		case !known:
			out = append(out, fmt.Sprintf("%s new, %s", a.Label(), is.Level))
		case was.Level != is.Level:
			out = append(out, fmt.Sprintf("%s %s → %s", a.Label(), was.Level, is.Level))
		case !slices.Equal(was.Can, is.Can) || !slices.Equal(was.Cannot, is.Cannot):
			out = append(out, a.Label()+" restrictions")
		}
	}
	since := "yesterday"
	if d, err := time.Parse(time.DateOnly, date); err == nil && rehab.DaysBetween(d, env.Now, time.UTC) != 1 {
		since = d.Format("Mon 2 Jan")
	}
	if len(out) == 0 {
		return "Changed since " + since + ": nothing.", nil
	}
	return "Changed since " + since + ": " + strings.Join(out, "; ") + ".", nil
}
