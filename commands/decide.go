package commands

import (
	"context"
	"fmt"
	"strings"

	"footing/rehab"
)

type readyArgs struct {
	Athlete rehab.Athlete
	Side    rehab.Side
}

// Ready shows what the ankle still needs for the next stage.
var Ready = New(Def[readyArgs]{
	Name:    "ready",
	Also:    []string{"gate", "status"},
	Summary: "What still blocks the next stage: met, not met and by how much, missing, stale.",
	Needs:   rehab.ReadMedical,
	Privacy: MedicalOnly,
	Fields: func(a *readyArgs) []Field {
		return []Field{Athlete(&a.Athlete), Opt(Side(&a.Side))}
	},
	Subject:  func(a *readyArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"ready 7"},
	Run: func(ctx context.Context, env *Env, a readyArgs) (Reply, error) {
		state, err := env.Assess(ctx, a.Athlete)
		if err != nil {
			return Reply{}, err
		}
		v, err := openOn(env, state, a.Side)
		if err != nil {
			return Reply{}, err
		}
		return gateCard(a.Athlete, v), nil
	},
})

// gateCard is the next gate in full, with the decisions to tap.
func gateCard(a rehab.Athlete, v rehab.View) Reply {
	reply := lines(fmt.Sprintf("%s: %s → %s, day %d (stage since %s).", name(a, v), v.Stage.Name, v.Next.Name, v.Day, v.Since.Format("Mon 2 Jan")))
	reply.Health = true
	if v.Screening.Held(v.P) {
		reply.Lines = append(reply.Lines, screenCard(a, v)...)
		return reply
	}
	if !v.GateDefined {
		reply.Lines = append(reply.Lines, gateLine(v))
		reply.Buttons = gateButtons(a, v)
		return reply
	}
	for _, status := range []rehab.Status{rehab.NotMet, rehab.Missing, rehab.Stale, rehab.Met} {
		var says []string
		for _, r := range v.Gate {
			if r.Status == status {
				says = append(says, r.Says)
			}
		}
		if len(says) > 0 {
			reply.Lines = append(reply.Lines, upper(string(status))+": "+strings.Join(says, "; ")+".")
		}
	}
	switch unmet, locked := v.Unmet(); {
	case len(unmet) == 0:
		reply.Lines = append(reply.Lines, gateLine(v))
	case len(locked) == 0:
		reply.Lines = append(reply.Lines, fmt.Sprintf("To advance all the same, say why: advance %d: reason", a.Shirt))
	}
	reply.Buttons = gateButtons(a, v)
	return reply
}

// gateButtons offers the decisions; advance only where nothing bars it and no reason is needed.
func gateButtons(a rehab.Athlete, v rehab.View) []Button {
	unmet, locked := v.Unmet()
	if len(locked) > 0 || v.Screening.Held(v.P) || !v.Screening.Cleared {
		return nil
	}
	line := func(cmd string) string { return fmt.Sprintf("%s %d %s", cmd, a.Shirt, v.Side) }
	var out []Button
	if v.GateDefined && len(unmet) == 0 {
		out = append(out, Button{Label: "Advance", Line: line("advance"), Strict: true})
	}
	out = append(out, Button{Label: "Stay", Line: line("stay"), Strict: true})
	return out
}

type decideArgs struct {
	Athlete rehab.Athlete
	Side    rehab.Side
	Reason  string
}

func decision(action rehab.Action, summary string, also, examples []string) *Command {
	return New(Def[decideArgs]{
		Name: string(action), Also: also, Summary: summary,
		Needs: rehab.Decide, Privacy: MedicalOnly,
		Fields: func(a *decideArgs) []Field {
			return []Field{Athlete(&a.Athlete), Opt(Side(&a.Side)), Opt(Rest("reason", "why", &a.Reason))}
		},
		Subject:  func(a *decideArgs) *rehab.Athlete { return &a.Athlete },
		Examples: examples,
		Run: func(ctx context.Context, env *Env, a decideArgs) (Reply, error) {
			return decide(ctx, env, a, action)
		},
	})
}

// The three decisions a clinician takes.
var (
	AdvanceCmd  = decision(rehab.Advance, "Confirm the step to the next stage; a reason is needed where criteria are not met.", []string{"progress"}, []string{"advance 7", "advance 7: moves well, balance board was wet"})
	StayCmd     = decision(rehab.Stay, "Keep the athlete in this stage.", nil, []string{"stay 7", "stay 7: sore after training"})
	StepBackCmd = decision(rehab.StepBack, "Go back one stage; all results count as stale.", []string{"regress"}, []string{"step-back 7 sore after landing"})
)

func decide(ctx context.Context, env *Env, a decideArgs, action rehab.Action) (Reply, error) {
	state, err := env.Assess(ctx, a.Athlete)
	if err != nil {
		return Reply{}, err
	}
	v, err := openOn(env, state, a.Side)
	if err != nil {
		return Reply{}, err
	}
	to, err := target(v, a, action)
	if err != nil {
		return Reply{}, err
	}
	body := rehab.Decided{Action: action, From: v.Stage.Key, To: to.Key, Reason: a.Reason, Evidence: v.Evidence(), Protocol: v.Protocol}
	entries := []rehab.Entry{{Athlete: a.Athlete.ID, Episode: v.Number, At: env.Now, Body: body}}
	next, err := env.foresee(ctx, a.Athlete, entries)
	if err != nil {
		return Reply{}, err
	}
	reply := lines(decided(a, v, to, action), "Coaches read: "+standing(next.Availability, env.Now))
	reply.Entries, reply.Health = entries, true
	if after, open := next.OpenOn(v.Side); open {
		reply.Lines = append(reply.Lines, gateLine(after))
	}
	return reply, nil
}

// target is the stage a decision leads to, or why it may not be taken.
func target(v rehab.View, a decideArgs, action rehab.Action) (rehab.Stage, error) {
	who := name(a.Athlete, v)
	switch action {
	case rehab.Stay:
		return v.Stage, nil
	case rehab.StepBack:
		switch {
		case v.Rank == 0:
			return v.Stage, refuse("%s is in %s: there is no stage before it.", who, v.Stage.Name)
		case a.Reason == "":
			return v.Stage, refuse("Why? For example: step-back %d sore after landing", a.Athlete.Shirt)
		}
		return v.P.Stages[v.Rank-1], nil
	}
	if holds := v.Screening.Holds(v.P); len(holds) > 0 {
		return v.Stage, refuse("%s is held: %s. Lift it first: lift-hold %d lateral: films clear", who, holds[0].Says, a.Athlete.Shirt)
	}
	if !v.Screening.Cleared {
		return v.Stage, refuse("%s is not cleared, so it stays in %s. Screen %s.", who, v.Stage.Name, v.WhyNotCleared())
	}
	unmet, locked := v.Unmet()
	switch {
	case len(locked) > 0:
		return v.Stage, refuse("%s cannot advance: %s.", who, locked[0].Says)
	case !v.GateDefined && a.Reason == "":
		return v.Stage, refuse("%s Say why: advance %d: reason", gateLine(v), a.Athlete.Shirt)
	case len(unmet) > 0 && a.Reason == "":
		return v.Stage, refuse("%s: %s To advance all the same, say why: advance %d: reason", who, gateLine(v), a.Athlete.Shirt)
	}
	return *v.Next, nil
}

func decided(a decideArgs, v rehab.View, to rehab.Stage, action rehab.Action) string {
	why := rehab.Prefixed(" Because: ", a.Reason)
	switch action {
	case rehab.Stay:
		return fmt.Sprintf("%s stays in %s.%s", name(a.Athlete, v), v.Stage.Name, why)
	case rehab.StepBack:
		return fmt.Sprintf("%s steps back to %s; every result before now is stale.%s", name(a.Athlete, v), to.Name, why)
	}
	met := "all criteria met"
	if unmet, _ := v.Unmet(); len(unmet) > 0 {
		met = fmt.Sprintf("overridden (not met: %d)", len(unmet))
	} else if !v.GateDefined {
		met = "no criteria defined, the clinician's decision"
	}
	return fmt.Sprintf("%s: %s → %s, %s.%s", name(a.Athlete, v), v.Stage.Name, to.Name, met, why)
}
