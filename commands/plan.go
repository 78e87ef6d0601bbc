package commands

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"footing/rehab"
	"footing/rehab/plan"
)

type planArgs struct {
	Athlete rehab.Athlete
	Side    rehab.Side
	Minutes float64
	Kit     kit
	Why     []string
}

// Plan proposes today's drills. A plan that is shown is kept: a later done means it. What staff are shown never
// takes the place of what the athlete was sent.
var Plan = New(Def[planArgs]{
	Name:    "plan",
	Summary: "Today's drills, chosen for the minutes and the kit there are; why says why.",
	Needs:   rehab.ReportSelf,
	Privacy: OwnOnly,
	Self:    true,
	Fields: func(a *planArgs) []Field {
		return []Field{
			Athlete(&a.Athlete), Opt(Side(&a.Side)), Opt(Minutes("minutes", optional(&a.Minutes), 1)),
			KitField(&a.Kit), Flags("why", &a.Why, NewWords(Word{"why", []string{"reasons", "explain"}}), nil),
		}
	},
	Subject:  func(a *planArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"plan 7", "plan 7 15min no-band ball", "plan 7 why"},
	Run:      showPlan,
})

func showPlan(ctx context.Context, env *Env, a planArgs) (Reply, error) {
	state, err := env.Assess(ctx, a.Athlete)
	if err != nil {
		return Reply{}, err
	}
	v, block, err := trainable(env, state, a.Side)
	if err != nil {
		return Reply{}, err
	}
	reply, _, err := env.planReply(ctx, state, v, block, a)
	return reply, err
}

// planReply is the plan of one ankle, or why it has none: has is false then.
func (e *Env) planReply(ctx context.Context, state rehab.Assessment, v rehab.View, block *rehab.Block, a planArgs) (reply Reply, has bool, err error) {
	ask, err := e.ask(ctx, state, v, a)
	if err != nil {
		return Reply{}, false, err
	}
	p := plan.For(state, v, ask, e.Now)
	if p.None != "" {
		reply = Reply{Lines: []string{p.None}, Health: true}
		if !e.Medical {
			reply.Buttons = []Button{e.wrongButton(a.Athlete)}
		}
		return reply, false, nil
	}
	reply = Reply{Health: true, Lines: planLines(a.Athlete, v, block, p, len(a.Why) > 0)}
	if !e.Medical {
		reply.Buttons = e.planButtons(a.Athlete, v)
	}
	body := p.Entry(v.Side, e.Now)
	body.Shown = e.Medical
	switch had, ok := state.State.PlanFor(e.Now, v.Side, e.Now); {
	case ok && body.Shown && !had.Shown:
		if !had.Same(body) {
			reply.Lines = append(reply.Lines, fmt.Sprintf("For you only: done means the plan of %d min they were sent today. For a new one they type: plan", had.Minutes))
		}
	case !ok || !had.Same(body) || had.Shown && !body.Shown:
		reply.Entries = []rehab.Entry{{Athlete: a.Athlete.ID, Episode: v.Number, At: e.Now, Body: body}}
	}
	return reply, true, nil
}

// ask is what a plan is made for: what the line says, else what today's plan was made for, else what the
// protocol says.
func (e *Env) ask(ctx context.Context, state rehab.Assessment, v rehab.View, a planArgs) (plan.Ask, error) {
	pl := v.P.Planning
	if a.Minutes > float64(pl.MostMinutes) {
		return plan.Ask{}, refuse("%s minutes is more than a plan holds: 1 to %d. For example: plan %d 15min", exact(a.Minutes), pl.MostMinutes, a.Athlete.Shirt)
	}
	ask := plan.Ask{Minutes: max(0, int(a.Minutes)), Kit: pl.Kit}
	if sent, ok := state.State.PlanFor(e.Now, v.Side, e.Now); ok && (e.Medical || !sent.Shown) {
		ask.Kit = sent.Kit
		if ask.Minutes == 0 {
			ask.Minutes = sent.Budget
		}
	}
	ask.Kit = a.Kit.on(ask.Kit)
	cal, err := e.Calendar(ctx)
	ask.MatchNext = err == nil && matchAhead(cal, e.Now)
	return ask, err
}

// trainable finds the ankle that drills are for: one under treatment, else one with a prevention block.
func trainable(env *Env, state rehab.Assessment, side rehab.Side) (rehab.View, *rehab.Block, error) {
	blocks := slices.DeleteFunc(slices.Clone(state.Prevention), func(b rehab.Block) bool { return side != rehab.None && b.View.Side != side })
	if _, open := state.OpenOn(side); open || len(blocks) == 0 || side == rehab.None && len(state.Open()) > 0 {
		v, err := openOn(env, state, side)
		return v, nil, err
	}
	if len(blocks) > 1 {
		_, err := askSide(env, state.State.Athlete.Label()+" has a prevention block for both ankles. Which one?")
		return rehab.View{}, nil, err
	}
	return blocks[0].View, &blocks[0], nil
}

func planLines(a rehab.Athlete, v rehab.View, block *rehab.Block, p plan.Plan, why bool) []string {
	head := fmt.Sprintf("%s %s, %s, %d min", a.Label(), v.Side.Short(), p.Stage.Name, p.Minutes)
	if block != nil {
		head = fmt.Sprintf("%s %s, prevention, %d min", a.Label(), v.Side.Short(), p.Minutes)
	}
	if n := p.Contacts(); n > 0 {
		head += fmt.Sprintf(", %d ground contacts", n)
	}
	out := []string{head + ":"}
	for i, it := range p.Items {
		line := fmt.Sprintf("%d. %s: %s (%s)", i+1, upper(it.Drill.Name), it.Step.Dose, it.Drill.Cue)
		if why {
			line += fmt.Sprintf("\n   %s; %s", onLadder(it), strings.Join(it.Why, "; "))
		}
		out = append(out, line)
	}
	if len(p.Relaxed) > 0 {
		out = append(out, "Not kept: "+strings.Join(p.Relaxed, "; ")+".")
	}
	if len(p.Notes) > 0 {
		out = append(out, upper(strings.Join(p.Notes, "; "))+".")
	}
	return append(out, fmt.Sprintf("Stop at pain above %d, or if the ankle gives.", v.P.Response.DrillsTolerated))
}

// onLadder says at which level a drill is done, and since when and why.
func onLadder(it plan.Item) string {
	if it.Level != it.Rung.Level {
		return fmt.Sprintf("level %d of %d today; %s", it.Level, len(it.Drill.Levels), it.Rung.Says())
	}
	return it.Rung.Says()
}

// matchAhead reports whether a match is still to be played today, or tomorrow.
func matchAhead(cal rehab.Calendar, now time.Time) bool {
	tomorrow := now.AddDate(0, 0, 1)
	match := func(s rehab.Session) bool { return s.What == rehab.Match && s.End().After(now) }
	return slices.ContainsFunc(append(cal.On(now, now.Location()), cal.On(tomorrow, now.Location())...), match)
}
