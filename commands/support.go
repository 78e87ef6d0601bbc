package commands

import (
	"context"

	"footing/rehab"
)

var supports = NewWords(Word{"brace", []string{"braced", "ankle brace"}}, Word{"tape", []string{"taped", "taping", "strapping"}}, Word{"none", []string{"no support"}})

type supportArgs struct {
	Athlete rehab.Athlete
	Side    rehab.Side
	Support string
	For     string
}

// Support states the support plan, which a return asks for.
var Support = New(Def[supportArgs]{
	Name:    "support",
	Summary: "State the support plan: brace, tape or none, and for what.",
	Needs:   rehab.LogMedical,
	Privacy: MedicalOnly,
	Fields: func(a *supportArgs) []Field {
		return []Field{Athlete(&a.Athlete), Opt(Side(&a.Side)), Choice("support", &a.Support, supports), Opt(careful(Rest("for", ": matches and training for a year", &a.For)))}
	},
	Subject:  func(a *supportArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"support 7 brace: matches and training for a year"},
	Run: func(ctx context.Context, env *Env, a supportArgs) (Reply, error) {
		v, err := env.ankle(ctx, a.Athlete, a.Side)
		if err != nil {
			return Reply{}, err
		}
		reply := lines(name(a.Athlete, v) + ": support " + a.Support + rehab.Prefixed(", ", a.For) + ".")
		reply.Entries = []rehab.Entry{{Athlete: a.Athlete.ID, Episode: v.Number, At: env.Told, Body: rehab.Supported{Support: a.Support, For: a.For}}}
		return reply, nil
	},
})
