package commands

import (
	"context"
	"fmt"

	"footing/rehab"
)

// SeenCmd ends an athlete's word that something is wrong, or that an ankle is worse since its return, where no
// examination does: medical staff have seen them. What holds an ankle is left as it is.
var SeenCmd = New(Def[noteArgs]{
	Name:    "seen",
	Summary: "You have seen whoever said that something is wrong, or was worse after a return: say what it was. Findings go to screen.",
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
		says, waits := waiting(state, env)
		if !waits {
			return Reply{}, refuse("%s has not said that something is wrong, or it was answered. To keep what you saw: note %d: what", a.Athlete.Label(), a.Athlete.Shirt)
		}
		entry := rehab.Entry{Athlete: a.Athlete.ID, At: env.Told, Body: rehab.Noted{Text: a.Text, Seen: true}}
		next, err := env.foresee(ctx, a.Athlete, []rehab.Entry{entry})
		if err != nil {
			return Reply{}, err
		}
		reply := lines(fmt.Sprintf("%s: seen. What they said on %s is answered.%s", a.Athlete.Label(), says, env.noted(a.Athlete, a.Text)))
		if len(next.Open()) > 0 {
			reply.Lines = append(reply.Lines, fmt.Sprintf("The ankle under treatment still decides. See: ready %d", a.Athlete.Shirt))
		}
		reply.Lines = append(reply.Lines, "Coaches read: "+standing(next.Availability, env.Now))
		reply.Entries = []rehab.Entry{entry}
		return reply, nil
	},
})

// waiting is when an athlete said what nobody has seen them about yet; false when they said nothing of that kind.
func waiting(state rehab.Assessment, env *Env) (when string, waits bool) {
	if at := state.State.Alert; !at.IsZero() {
		return at.In(env.Now.Location()).Format("Mon 15:04"), true
	}
	for _, v := range state.Views {
		if m, worse := v.WorseSinceReturn(state.State, env.Now); worse {
			return m.Date.Format("Mon") + " morning", true
		}
	}
	return "", false
}
