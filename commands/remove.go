package commands

import (
	"context"
	"fmt"
	"strings"

	"footing/rehab"
)

type removeArgs struct{ Athlete rehab.Athlete }

// Remove takes an athlete off the roster, once asked. The record stays.
var Remove = New(Def[removeArgs]{
	Name:     "remove",
	Summary:  "Take an athlete off the roster; the record stays.",
	Exact:    true,
	Needs:    rehab.ManageRoster,
	Privacy:  Staff,
	Fields:   func(a *removeArgs) []Field { return []Field{Athlete(&a.Athlete)} },
	Subject:  func(a *removeArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"remove 7"},
	Run: func(ctx context.Context, env *Env, a removeArgs) (Reply, error) {
		if !env.Confirmed {
			return askRemove(ctx, env, a.Athlete)
		}
		row, err := env.Records.Athlete(ctx, a.Athlete.ID)
		if err != nil {
			return Reply{}, err
		}
		row.Active = false
		reply := lines(fmt.Sprintf("%s is off the roster. The record stays; %d is free.", row.Label(), row.Shirt))
		if rehab.May(env.Actor.Roles, Undo.Needs) {
			reply.Lines[0] += " undo puts them back."
		}
		accounts, err := env.Records.Accounts(ctx)
		if err != nil {
			return Reply{}, err
		}
		if holder := accounts[row.ID]; holder.ID != 0 {
			reply.Lines = append(reply.Lines, "Their account is parted; should they come back, they link it anew.")
			reply.Asides = []Aside{parted(env, row, holder)}
		}
		reply.Put = []Put{{row, rehab.Entry{Athlete: row.ID, At: env.Told, Body: rehab.Departed{}}}}
		return reply, nil
	},
})

// askRemove says what leaving would mean. What is under treatment is named to medical staff only.
func askRemove(ctx context.Context, env *Env, a rehab.Athlete) (Reply, error) {
	state, err := env.Assess(ctx, a)
	if err != nil {
		return Reply{}, err
	}
	says := fmt.Sprintf("Take %s off the roster? The record stays; %d is free for another.", a.Label(), a.Shirt)
	var open []string
	for _, v := range state.Open() {
		open = append(open, fmt.Sprintf("%s ankle (%s, day %d)", v.Side, v.Stage.Name, v.Day))
	}
	switch {
	case len(open) > 0 && env.Medical:
		says += "\nStill under treatment: " + strings.Join(open, ", ") + "."
	case len(open) > 0:
		says += "\nMedical staff have something open with them: ask them first."
	}
	return Reply{}, &Refusal{Says: says, Buttons: []Button{{Label: "Remove " + a.Label(), Line: env.Call.Text(), Confirmed: true, Strict: true}}}
}
