package commands

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"footing/rehab"
)

type clinicArgs struct{ Athlete rehab.Athlete }

// Clinic lists whom medical staff should see and why, most urgent first.
var Clinic = New(Def[clinicArgs]{
	Name:    "clinic",
	Also:    []string{"clinic list", "list"},
	Summary: "Whom to see and why, most urgent first; clinic 7 for everything about one.",
	Needs:   rehab.ReadMedical,
	Privacy: MedicalOnly,
	Looks:   true,
	Fields: func(a *clinicArgs) []Field {
		return []Field{Opt(Athlete(&a.Athlete))}
	},
	Subject:  func(a *clinicArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"clinic", "clinic 7"},
	Run: func(ctx context.Context, env *Env, a clinicArgs) (Reply, error) {
		list, err := patients(ctx, env)
		if err != nil {
			return Reply{}, err
		}
		if a.Athlete.ID != 0 {
			return onePatient(env, a.Athlete, list), nil
		}
		return clinicList(env, list), nil
	},
})

// patient is an athlete with reasons to be seen.
type patient struct {
	athlete  rehab.Athlete
	state    rehab.Assessment
	concerns []rehab.Concern
}

func patients(ctx context.Context, env *Env) ([]patient, error) {
	roster, err := env.Records.Athletes(ctx)
	if err != nil {
		return nil, err
	}
	entries, err := env.Records.TeamEntries(ctx)
	if err != nil {
		return nil, err
	}
	flagged, err := env.Records.Flagged(ctx)
	if err != nil {
		return nil, err
	}
	accounts, err := env.Records.Accounts(ctx)
	if err != nil {
		return nil, err
	}
	var out []patient
	for _, a := range roster {
		p := patient{athlete: a, state: env.read(a, entries[a.ID])}
		p.concerns = rehab.Concerns(p.state, env.Now)
		if n := flagged[a.ID]; n > 0 {
			p.concerns = append(p.concerns, rehab.Concern{Urgency: rehab.Today, Says: plural(n, "deleted message") + " to decide about"})
		}
		if says := unasked(p.state.State, env); says != "" && accounts[a.ID].ID != 0 {
			p.concerns = append(p.concerns, rehab.Concern{Urgency: rehab.ThisWeek, Says: says})
		}
		slices.SortStableFunc(p.concerns, func(x, y rehab.Concern) int { return cmp.Compare(x.Urgency, y.Urgency) })
		if len(p.concerns) > 0 {
			out = append(out, p)
		}
	}
	slices.SortStableFunc(out, func(x, y patient) int { return cmp.Compare(x.concerns[0].Urgency, y.concerns[0].Urgency) })
	return out, nil
}

// shownConcerns is how many reasons fit a person's line.
const shownConcerns = 2

func clinicList(env *Env, list []patient) Reply {
	if len(list) == 0 {
		return lines("Clinic, " + env.Now.Format("Mon 2 Jan") + ": nobody needs to be seen.")
	}
	reply := lines(fmt.Sprintf("Clinic, %s: %d to see.", env.Now.Format("Mon 2 Jan"), len(list)))
	for _, p := range list {
		var says []string
		for _, c := range p.concerns[:min(shownConcerns, len(p.concerns))] {
			says = append(says, c.Says)
		}
		line := marks[p.concerns[0].Urgency] + " " + p.athlete.Label() + where(p.state) + ": " + strings.Join(says, "; ")
		if more := len(p.concerns) - shownConcerns; more > 0 {
			line += fmt.Sprintf(" (+%d)", more)
		}
		reply.Lines = append(reply.Lines, line)
		if len(reply.Buttons) < 5 {
			reply.Buttons = append(reply.Buttons, Button{Label: p.athlete.Label(), Line: fmt.Sprintf("clinic %d", p.athlete.Shirt), Own: true})
		}
	}
	return reply
}

// marks stand before a line for its urgency.
var marks = map[rehab.Urgency]string{rehab.Now: "!!", rehab.Held: "!", rehab.Today: "•", rehab.ThisWeek: "-"}

// where is the ankle and stage, shortly: " L Load d4".
func where(a rehab.Assessment) string {
	var out []string
	for _, v := range a.Open() {
		out = append(out, fmt.Sprintf("%s %s d%d", v.Side.Short(), v.Stage.Name, v.Day))
	}
	return rehab.Prefixed(", ", strings.Join(out, " + "))
}

func onePatient(env *Env, a rehab.Athlete, list []patient) Reply {
	for _, p := range list {
		if p.athlete.ID != a.ID {
			continue
		}
		reply := lines(a.Label() + where(p.state) + ":")
		for _, c := range p.concerns {
			reply.Lines = append(reply.Lines, marks[c.Urgency]+" "+c.Says)
		}
		if open := p.state.Open(); len(open) == 1 {
			reply.Buttons = []Button{{Label: "Ready?", Line: fmt.Sprintf("ready %d", a.Shirt), Own: true}, {Label: "History", Line: fmt.Sprintf("history %d", a.Shirt), Own: true}}
		}
		return reply
	}
	return lines(a.Label() + ": nothing to see them for.")
}

// BaselineCmd lists who lacks which pre-season test.
var BaselineCmd = New(Def[struct{}]{
	Name:     "baseline",
	Also:     []string{"baselines"},
	Summary:  "Who lacks which baseline test.",
	Needs:    rehab.ReadMedical,
	Privacy:  MedicalOnly,
	Examples: []string{"baseline"},
	Run:      lackingBaseline,
})

func lackingBaseline(ctx context.Context, env *Env, _ struct{}) (Reply, error) {
	roster, err := env.Records.Athletes(ctx)
	if err != nil {
		return Reply{}, err
	}
	entries, err := env.Records.TeamEntries(ctx)
	if err != nil {
		return Reply{}, err
	}
	lack := map[string][]string{}
	for _, a := range roster {
		st := rehab.Fold(a, entries[a.ID])
		for _, t := range env.Protocol.Tests {
			if t.Baseline && !rehab.HasBaseline(st, t, env.Protocol, env.Now) {
				lack[t.Key] = append(lack[t.Key], fmt.Sprint(a.Shirt))
			}
		}
	}
	out := []string{fmt.Sprintf("Baseline tests still to do, of %d:", len(roster))}
	for _, t := range env.Protocol.Tests {
		if who := lack[t.Key]; len(who) == len(roster) {
			out = append(out, "• "+t.Key+": everyone")
		} else if len(who) > 0 {
			out = append(out, "• "+t.Key+": "+strings.Join(who, ", "))
		}
	}
	if len(out) == 1 {
		return lines("Everyone has every baseline test."), nil
	}
	return lines(append(out, "Squad line: test knee-to-wall l/r: 7 9/12, 12 10/11")...), nil
}
