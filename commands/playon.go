package commands

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"footing/rehab"
)

type playOnArgs struct {
	Athlete rehab.Athlete
	Side    rehab.Side
	After   string
	Pain    float64
	Checks  []string
}

var afterMatch = NewWords(Word{"after", []string{"after match", "post match"}})

// PlayOnCmd records the checks that let an athlete play on at once after a sprain, and the check after
// the match.
var PlayOnCmd = New(Def[playOnArgs]{
	Name:    "play-on",
	Also:    []string{"plays on", "played on"},
	Summary: "Play on at once: every check in one sitting; again after the match.",
	Exact:   true,
	Needs:   rehab.Decide,
	Privacy: MedicalOnly,
	Fields: func(a *playOnArgs) []Field {
		return []Field{
			Athlete(&a.Athlete), Opt(Side(&a.Side)), Opt(Choice("after", &a.After, afterMatch)), Pain(&a.Pain, false),
			Flags("checks", &a.Checks, Words{}, func(l *Lang) []phrase { return l.checks }),
		}
	},
	Subject: func(a *playOnArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{
		"play-on 7 no limp, raises, hops, sprint, cuts, confident, support on, pain 1",
		"play-on 7 after no limp, pain 2",
	},
	Run: playOn,
})

func playOn(ctx context.Context, env *Env, a playOnArgs) (Reply, error) {
	v, err := env.ankle(ctx, a.Athlete, a.Side)
	if err != nil {
		return Reply{}, err
	}
	after := a.After != ""
	switch {
	case !v.Screening.Negative(v.P):
		return Reply{}, refuse("%s may not play on: that needs a complete negative screen. %s", name(a.Athlete, v), screenCard(a.Athlete, v)[0])
	case v.Rank > 0:
		return Reply{}, refuse("%s is on the course, in %s: it goes on by its criteria.", name(a.Athlete, v), v.Stage.Name)
	case after && !v.Playing.On:
		return Reply{}, refuse("%s was not cleared to play on.", name(a.Athlete, v))
	}
	body := rehab.PlayedOn{After: after, Passed: a.Checks}
	var missed []string
	for _, c := range v.P.PlayOn.Checks {
		if (!after || c.After) && !slices.Contains(a.Checks, c.Key) {
			body.Missed = append(body.Missed, c.Key)
			missed = append(missed, c.Name)
		}
	}
	if int(a.Pain) > v.P.PlayOn.MaxPain {
		body.Missed = append(body.Missed, "pain")
		missed = append(missed, fmt.Sprintf("pain %d, at most %d", int(a.Pain), v.P.PlayOn.MaxPain))
	}
	reply, v, err := env.after(ctx, a.Athlete, v.Side, []rehab.Entry{{Athlete: a.Athlete.ID, Episode: v.Number, At: env.Told, Body: body}})
	if err != nil {
		return Reply{}, err
	}
	switch {
	case len(missed) > 0:
		reply.Lines = []string{fmt.Sprintf("%s does NOT play on: %s. On the course, stage %s.", name(a.Athlete, v), strings.Join(missed, ", "), v.Stage.Name)}
	default:
		reply.Lines = []string{fmt.Sprintf("%s may play on. Still to come: %s. Any miss puts the ankle on the course.", name(a.Athlete, v), v.Playing.Waiting)}
		if !after {
			reply.Lines = append(reply.Lines, fmt.Sprintf("After the match type: play-on %d after no limp, pain 1", a.Athlete.Shirt))
		}
	}
	return reply, nil
}
