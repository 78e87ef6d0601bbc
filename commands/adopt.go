package commands

import (
	"context"
	"fmt"
	"strings"

	"footing/rehab"
)

// AcceptProtocol takes an open episode over to the team's present protocol. Until a clinician does so it
// keeps the one it began with.
var AcceptProtocol = New(Def[readyArgs]{
	Name:    "accept-protocol",
	Summary: "Let an ankle under treatment follow the team's changed protocol.",
	Exact:   true,
	Needs:   rehab.Decide,
	Privacy: MedicalOnly,
	Fields: func(a *readyArgs) []Field {
		return []Field{Athlete(&a.Athlete), Opt(Side(&a.Side))}
	},
	Subject:  func(a *readyArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"accept-protocol 7"},
	Run: func(ctx context.Context, env *Env, a readyArgs) (Reply, error) {
		v, err := env.ankle(ctx, a.Athlete, a.Side)
		if err != nil {
			return Reply{}, err
		}
		if v.P.Hash == env.Protocol.Hash {
			return Reply{}, refuse("%s follows the team's protocol already.", name(a.Athlete, v))
		}
		state, err := env.Assess(ctx, a.Athlete)
		if err != nil {
			return Reply{}, err
		}
		says, ok := rehab.WouldChange(state.State, v, env.Protocol, env.setting())
		if !ok {
			return Reply{}, refuse("%s cannot follow the team's protocol: %s. It keeps its own.", name(a.Athlete, v), strings.Join(says, "; "))
		}
		return Reply{
			Health:  true,
			Lines:   []string{fmt.Sprintf("%s follows the team's protocol from now on.", name(a.Athlete, v)), "Changed: " + strings.Join(says, "; ") + "."},
			Entries: []rehab.Entry{{Athlete: a.Athlete.ID, Episode: v.Number, At: env.Now, Body: rehab.Adopted{Protocol: env.Protocol.Hash, Was: v.P.Hash}}},
		}, nil
	},
})
