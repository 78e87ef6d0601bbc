package commands

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

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
	Looks:   true,
	Fields: func(a *readyArgs) []Field {
		return []Field{Athlete(&a.Athlete), Opt(Side(&a.Side))}
	},
	Subject:  func(a *readyArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"ready 7"},
	Run: func(ctx context.Context, env *Env, a readyArgs) (Reply, error) {
		v, err := env.ankle(ctx, a.Athlete, a.Side)
		if err != nil {
			return Reply{}, err
		}
		return gateCard(a.Athlete, v, env.Now), nil
	},
})

// gateCard is the next gate in full, with the decisions to tap.
func gateCard(a rehab.Athlete, v rehab.View, now time.Time) Reply {
	reply := lines(fmt.Sprintf("%s: %s → %s, day %d (stage since %s)%s.", name(a, v), v.Stage.Name, v.Next.Name, v.Day, v.Since.Format("Mon 2 Jan"), grade(v)))
	reply.Health = true
	if v.Screening.Held(v.P) {
		card := screenCard(a, v)
		if len(card) == 1 { // an emergency says nothing else when it is told; here it is being looked at
			card = append(card, fmt.Sprintf("HELD. Typed wrong: undo. Seen and cleared: lift-hold %d %s: what was found", a.Shirt, likelyCourse(v.Screening)))
		}
		reply.Lines = append(reply.Lines, card...)
		reply.Buttons = gateButtons(a, v, now)
		return reply
	}
	if !v.GateDefined {
		reply.Lines = append(reply.Lines, gateLine(v))
		reply.Buttons = gateButtons(a, v, now)
		return reply
	}
	for _, status := range []rehab.Status{rehab.NotMet, rehab.Missing, rehab.Stale, rehab.Met} {
		var says []string
		for _, r := range v.Gate {
			if r.Status == status && !slices.Contains(says, r.Says) {
				says = append(says, r.Says)
			}
		}
		if len(says) > 0 {
			told := strings.Join(says, "; ")
			if strings.Count(told, rehab.BeforeSetBack) == len(says) {
				told = strings.ReplaceAll(told, rehab.BeforeSetBack, "") + rehab.BeforeSetBack
			}
			reply.Lines = append(reply.Lines, upper(string(status))+": "+told+".")
		}
	}
	if v.LastWorse(now) {
		reply.Lines = append(reply.Lines, strings.TrimSpace("Last morning WORSE"+v.WhenWorse(now)+": "+v.Morning.Why+". "+afterWorse(v, now)))
	}
	switch unmet, locked := v.Unmet(); {
	case len(unmet) == 0:
		reply.Lines = append(reply.Lines, gateLine(v))
	case len(locked) == 0:
		reply.Lines = append(reply.Lines, fmt.Sprintf("To go on all the same, say why: %s %d: reason", step(v), a.Shirt))
	}
	reply.Buttons = gateButtons(a, v, now)
	return reply
}

// grade is the grade as it stands: provisional until the delayed examination.
func grade(v rehab.View) string {
	if v.Grade == 0 {
		return ""
	}
	out := ", " + gradeWord(v.Grade)
	if v.Day < v.P.Limits.GradeDay {
		out += fmt.Sprintf(" (provisional until day %d)", v.P.Limits.GradeDay)
	}
	return out
}

// gateButtons offers the decisions; advance only where nothing bars it and no reason is needed. Of a held
// ankle only the hold can be decided.
func gateButtons(a rehab.Athlete, v rehab.View, now time.Time) []Button {
	line := func(cmd string) string { return fmt.Sprintf("%s %d %s", cmd, a.Shirt, v.Side) }
	unmet, locked := v.Unmet()
	switch {
	case v.Screening.Held(v.P):
		return []Button{{Label: "Lift hold", Line: line("lift-hold"), Strict: true}}
	case len(locked) > 0 || !v.Screening.Cleared:
		return nil
	}
	var out []Button
	if v.GateDefined && len(unmet) == 0 && !v.LastWorse(now) {
		out = append(out, Button{Label: upper(step(v)), Line: line(step(v)), Strict: true, Style: "go"})
	}
	out = append(out, Button{Label: "Stay", Line: line(string(rehab.Stay)), Strict: true})
	if v.Rank > 0 {
		out = append(out, Button{Label: "Step back", Line: line(string(rehab.StepBack)), Strict: true, Style: "stop"})
	}
	return out
}

// step is the command that takes the next step.
func step(v rehab.View) string {
	if v.Rank == len(v.P.Stages)-2 {
		return string(rehab.Return)
	}
	return string(rehab.Advance)
}

type decideArgs struct {
	Athlete rehab.Athlete
	Side    rehab.Side
	Reason  string
}

func decision(action rehab.Action, summary string, also, examples []string) *Command {
	return New(Def[decideArgs]{
		Name: string(action), Also: also, Summary: summary,
		Needs: rehab.Decide, Privacy: MedicalOnly, Exact: forward(action),
		Fields: func(a *decideArgs) []Field {
			return []Field{Athlete(&a.Athlete), Opt(Side(&a.Side)), Opt(reasonField(action, &a.Reason))}
		},
		Subject:  func(a *decideArgs) *rehab.Athlete { return &a.Athlete },
		Examples: examples,
		Run: func(ctx context.Context, env *Env, a decideArgs) (Reply, error) {
			return decide(ctx, env, a, action)
		},
	})
}

// The decisions a clinician takes.
var (
	AdvanceCmd  = decision(rehab.Advance, "Confirm the step to the next stage; a reason is needed where criteria are not met.", []string{"progress"}, []string{"advance 7", "advance 7: moves well, balance board was wet"})
	StayCmd     = decision(rehab.Stay, "Keep the athlete in this stage.", nil, []string{"stay 7", "stay 7: sore after training"})
	ReturnCmd   = decision(rehab.Return, "Return to matches, from the last stage; says what was met, overridden and by whom.", nil, []string{"return 7", "return 7: final, her call and mine"})
	StepBackCmd = decision(rehab.StepBack, "Go back one stage; all results count as stale.", []string{"regress"}, []string{"step-back 7 sore after landing"})
)

// reasonField is free text after a colon; a step back or a stay may do without the colon. To move on
// it is needed: "advance 7 not yet" is no reason to advance.
func reasonField(action rehab.Action, to *string) Field {
	f := Rest("reason", ": why", to)
	f.rest = !forward(action)
	return f
}

func decide(ctx context.Context, env *Env, a decideArgs, action rehab.Action) (Reply, error) {
	v, err := env.ankle(ctx, a.Athlete, a.Side)
	if err != nil {
		return Reply{}, err
	}
	if len(env.Replaces) > 0 {
		return restate(ctx, env, a, v, action)
	}
	if action == rehab.Advance && v.Rank == len(v.P.Stages)-2 {
		return Reply{}, refuse("%s is in %s: the next step is the return to matches. Type return %d", name(a.Athlete, v), v.Stage.Name, a.Athlete.Shirt)
	}
	if action == rehab.Return && v.Rank != len(v.P.Stages)-2 {
		return Reply{}, refuse("%s is in %s. A return comes from %s: advance first.", name(a.Athlete, v), v.Stage.Name, v.P.Stages[len(v.P.Stages)-2].Name)
	}
	if forward(action) && readsLikeNo(a.Reason) {
		return Reply{}, refuse("%s %d was not done: “%s” reads like a no. To stay type: stay %d", action, a.Athlete.Shirt, a.Reason, a.Athlete.Shirt)
	}
	if v.LastWorse(env.Now) && a.Reason == "" && forward(action) {
		return Reply{}, refuse("%s: the last morning was worse%s (%s). To go on all the same, say why: %s %d: reason", name(a.Athlete, v), v.WhenWorse(env.Now), v.Morning.Why, action, a.Athlete.Shirt)
	}
	to, err := target(v, a, action)
	if err != nil {
		return Reply{}, err
	}
	body := rehab.Decided{Action: action, From: v.Stage.Key, To: to.Key, Reason: a.Reason, Evidence: v.Evidence(), Protocol: v.Protocol}
	entries := []rehab.Entry{{Athlete: a.Athlete.ID, Episode: v.Number, At: env.Told, Body: body}}
	next, err := env.foresee(ctx, a.Athlete, entries)
	if err != nil {
		return Reply{}, err
	}
	reply := lines(decided(a, v, to, action), "Coaches read: "+standing(next.Availability, env.Now))
	reply.Entries, reply.Health = entries, true
	if after, open := next.OpenOn(v.Side); open {
		reply.Lines = append(reply.Lines, gateLine(after))
		return reply, nil
	}
	summary, err := env.summary(ctx, v, a.Reason)
	reply.Lines = append(append(reply.Lines, summary...), beginsBlock(a.Athlete, v))
	return reply, err
}

// restate mends the reason of a decision whose line was edited. What was decided, and on what, stands:
// the state it was taken in has passed.
func restate(ctx context.Context, env *Env, a decideArgs, v rehab.View, action rehab.Action) (Reply, error) {
	for _, e := range env.Replaces {
		old, ok := e.Body.(rehab.Decided)
		if !ok || old.Action != action || e.Athlete != a.Athlete.ID || e.Episode != v.Number {
			continue
		}
		if a.Reason == "" && old.Reason != "" {
			return Reply{}, refuse("The reason is gone from that line; it still stands: %s", old.Reason)
		}
		old.Reason = a.Reason
		reply, _, err := env.after(ctx, a.Athlete, v.Side, []rehab.Entry{{Athlete: a.Athlete.ID, Episode: e.Episode, At: e.At, Body: old}})
		reply.Lines = []string{fmt.Sprintf("%s: %s stands, reason now: %s", name(a.Athlete, v), action, a.Reason)}
		return reply, err
	}
	return Reply{}, refuse("An edit does not decide: send %s as a new message. What that line recorded stands.", action)
}

// readsLikeNo reports whether a reason takes back the decision it was given for.
func readsLikeNo(reason string) bool {
	first := strings.Fields(Fold(reason) + " .")
	return slices.Contains([]string{"no", "not", "dont", "don't", "never", "tomorrow", "later", "wait", "cancel"}, first[0])
}

// forward reports whether a decision moves the athlete on.
func forward(action rehab.Action) bool { return action == rehab.Advance || action == rehab.Return }

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
			return v.Stage, askBack(a.Athlete, v)
		}
		return v.P.Stages[v.Rank-1], nil
	}
	if holds := v.Screening.Holds(v.P); len(holds) > 0 {
		return v.Stage, refuse("%s is held: %s. Lift it first: lift-hold %d %s: what was found", who, holds[0].Says, a.Athlete.Shirt, likelyCourse(v.Screening))
	}
	if !v.Screening.Cleared {
		return v.Stage, refuse("%s is not cleared, so it stays in %s. Screen %s.", who, v.Stage.Name, v.WhyNotCleared())
	}
	unmet, locked := v.Unmet()
	switch {
	case len(locked) > 0:
		return v.Stage, refuse("%s cannot advance: %s.", who, locked[0].Says)
	case !v.GateDefined && a.Reason == "":
		return v.Stage, refuse("%s Say why: %s %d: reason", gateLine(v), action, a.Athlete.Shirt)
	case len(unmet) > 0 && a.Reason == "":
		return v.Stage, refuse("%s: %s To go on all the same, say why: %s %d: reason", who, gateLine(v), action, a.Athlete.Shirt)
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

// summary tells, at the return, how each step was taken: on met criteria, or overridden, by whom and
// why.
func (e *Env) summary(ctx context.Context, v rehab.View, reason string) ([]string, error) {
	names, err := e.Records.MemberNames(ctx)
	if err != nil {
		return nil, err
	}
	out := []string{fmt.Sprintf("Returned on day %d. How each step was taken:", v.Day)}
	for _, entry := range v.Entries {
		b, ok := entry.Body.(rehab.Decided)
		if !ok || b.Action == rehab.Stay {
			continue
		}
		out = append(out, "• "+stepTaken(v, entry, b, names[entry.Author]))
	}
	last := rehab.Decided{From: v.Stage.Key, To: v.Next.Key, Action: rehab.Return, Reason: reason, Evidence: v.Evidence()}
	return append(out, "• "+stepTaken(v, rehab.Entry{At: e.Now}, last, names[e.Actor.ID])), nil
}

func stepTaken(v rehab.View, entry rehab.Entry, b rehab.Decided, by string) string {
	from, _ := v.P.Stage(b.From)
	to, _ := v.P.Stage(b.To)
	var open []string
	for _, seen := range b.Evidence {
		if seen.Status != rehab.Met {
			open = append(open, seen.Criterion)
		}
	}
	how := "all met"
	switch {
	case b.Action == rehab.StepBack:
		how = "stepped back"
	case len(open) > 0:
		how = "overridden: " + strings.Join(open, ", ")
	}
	return fmt.Sprintf("%s → %s, %s, %s, by %s%s", from.Name, to.Name, entry.At.In(v.At.Location()).Format("Mon 2 Jan"), how, by, rehab.Prefixed(": ", b.Reason))
}
