package commands

import (
	"context"
	"fmt"

	"footing/rehab"
)

// PreventionCmd lists the prevention blocks that run, and how they are kept.
var PreventionCmd = New(Def[clinicArgs]{
	Name:    "prevention",
	Summary: "Who is in a prevention block, until when, and how it is kept.",
	Needs:   rehab.ReadMedical,
	Privacy: MedicalOnly,
	Fields: func(a *clinicArgs) []Field {
		return []Field{Opt(Athlete(&a.Athlete))}
	},
	Subject:  func(a *clinicArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"prevention", "prevention 7"},
	Run: func(ctx context.Context, env *Env, a clinicArgs) (Reply, error) {
		squad, err := readSquad(ctx, env)
		if err != nil {
			return Reply{}, err
		}
		reply := lines("Prevention blocks:")
		for _, who := range squad {
			if a.Athlete.ID != 0 && who.ID != a.Athlete.ID {
				continue
			}
			for _, b := range who.state.Prevention {
				reply.Lines = append(reply.Lines, "• "+who.Label()+" "+blockLine(b, env))
			}
			if open := who.state.Open(); a.Athlete.ID != 0 && len(open) > 0 && len(reply.Lines) == 1 {
				return lines(name(a.Athlete, open[0]) + ": under treatment. Its prevention block begins with the return."), nil
			}
		}
		if len(reply.Lines) == 1 {
			return lines("No prevention block runs. One begins with a return, and for ankles sprained twice in a year or felt to be unstable."), nil
		}
		return reply, nil
	},
})

// blockLine is a block in one line: why, until when, this week, how it was kept.
func blockLine(b rehab.Block, env *Env) string {
	until := "while that stands"
	if !b.Until.IsZero() {
		until = "until the end of " + b.Until.Format("Mon 2 Jan")
	}
	out := fmt.Sprintf("%s: %s, %s; this week %d of %d", b.View.Side.Short(), b.Why, until, b.ThisWeek(env.Now), b.Target())
	if pct, ok := b.Adherence(env.Now); ok {
		out += fmt.Sprintf("; kept to %d %%", pct)
	}
	return out + "."
}

// beginsBlock says what follows a return.
func beginsBlock(a rehab.Athlete, v rehab.View) string {
	p := v.P.Prevention
	return fmt.Sprintf("Prevention now: %d short sessions a week for %d weeks (plan %d). Follow-ups at %s.", p.PerWeek, p.Weeks, a.Shirt, inMonths(p.FollowUps))
}

func inMonths(list []int) string {
	out := ""
	for i, m := range list {
		switch {
		case i == 0:
		case i == len(list)-1:
			out += " and "
		default:
			out += ", "
		}
		out += fmt.Sprint(m)
	}
	return out + " months"
}
