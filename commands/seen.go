package commands

import (
	"context"
	"fmt"

	"footing/rehab"
)

// SeenCmd ends an athlete's word that something is wrong where no examination does: medical staff have
// seen them. What holds an ankle is left as it is.
var SeenCmd = New(Def[noteArgs]{
	Name:    "seen",
	Summary: "You have seen whoever said that something is wrong: say what it was. Findings go to screen.",
	Exact:   true,
	Needs:   rehab.Decide,
	Privacy: MedicalOnly,
	Fields: func(a *noteArgs) []Field {
		return []Field{Athlete(&a.Athlete), Rest("text", ": what it was", &a.Text)}
	},
	Subject:  func(a *noteArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"seen 7: a blister, the ankle is fine"},
	Run: func(ctx context.Context, env *Env, a noteArgs) (Reply, error) {
		state, err := env.Assess(ctx, a.Athlete)
		if err != nil {
			return Reply{}, err
		}
		said := state.State.Alert
		if said.IsZero() {
			return Reply{}, refuse("%s has not said that something is wrong, or it was answered. To keep what you saw: note %d: what", a.Athlete.Label(), a.Athlete.Shirt)
		}
		entry := rehab.Entry{Athlete: a.Athlete.ID, At: env.Told, Body: rehab.Noted{Text: a.Text, Seen: true}}
		next, err := env.foresee(ctx, a.Athlete, []rehab.Entry{entry})
		if err != nil {
			return Reply{}, err
		}
		reply := lines(fmt.Sprintf("%s: seen. What they said on %s is answered.%s", a.Athlete.Label(), said.In(env.Now.Location()).Format("Mon 15:04"), env.noted(a.Athlete, a.Text)))
		if len(next.Open()) > 0 {
			reply.Lines = append(reply.Lines, fmt.Sprintf("The ankle under treatment still decides. See: ready %d", a.Athlete.Shirt))
		}
		reply.Lines = append(reply.Lines, "Coaches read: "+standing(next.Availability, env.Now))
		reply.Entries = []rehab.Entry{entry}
		return reply, nil
	},
})
