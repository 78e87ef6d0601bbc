package commands

import (
	"context"
	"fmt"

	"footing/rehab"
)

// Roster lists who is in the squad.
var Roster = New(Def[struct{}]{
	Name:     "roster",
	Also:     []string{"squad"},
	Summary:  "Who is in the squad: shirt, name, position.",
	Needs:    rehab.ReadRoster,
	Privacy:  Staff,
	Examples: []string{"roster"},
	Run: func(ctx context.Context, env *Env, _ struct{}) (Reply, error) {
		roster, err := env.Records.Athletes(ctx)
		if err != nil {
			return Reply{}, err
		}
		if len(roster) == 0 {
			return lines("Nobody is on the roster. " + addExample), nil
		}
		reply := lines(fmt.Sprintf("On the roster: %d.", len(roster)))
		for _, a := range roster {
			reply.Lines = append(reply.Lines, join(", ", a.Label(), a.Position))
		}
		return reply, nil
	},
})

const addExample = "Put someone on it: add 7 Mere Tau, wing"
