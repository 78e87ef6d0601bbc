package commands

import (
	"context"
	"fmt"
	"slices"
	"time"

	"footing/rehab"
)

// askAgainAfter is how many days after they were linked an athlete who has said nothing is asked for consent
// once more.
const askAgainAfter = 3

// Receivers lists the athletes who may be written to unasked, and what for: linked, with direct messages open,
// neither ill nor travelling. Without consent there is nothing but the question for it. team are the team's
// habits.
func Receivers(ctx context.Context, env *Env, team rehab.Habits) ([]rehab.Receiver, error) {
	squad, err := readSquad(ctx, env)
	if err != nil {
		return nil, err
	}
	entries, err := env.Records.TeamEntries(ctx)
	if err != nil {
		return nil, err
	}
	accounts, err := env.Records.Accounts(ctx)
	if err != nil {
		return nil, err
	}
	var out []rehab.Receiver
	for _, who := range squad {
		m := accounts[who.ID]
		if m.ID == 0 || m.Closed {
			continue
		}
		r := rehab.Receiver{Athlete: who.ID, Habits: team.After(entries[who.ID]), Minor: who.Minor(env.Now, env.Team.StrictMinors)}
		st := who.state.State
		if agreed := Agreed(st, env.Team, env.Now); agreed && !st.Paused(env.Now) {
			r.Treated = len(who.state.Open()) > 0
			r.Drilled = r.Treated || len(who.state.Prevention) > 0
		} else if !agreed && st.Consent.Athlete.Silent(ConsentVersion) {
			r.AskOn = dateOf(linkedOn(entries[who.ID]).In(env.Now.Location())).AddDate(0, 0, askAgainAfter)
		}
		out = append(out, r)
	}
	return out, nil
}

// linkedOn is when an athlete's account was last linked.
func linkedOn(entries []rehab.Entry) (at time.Time) {
	for _, e := range entries {
		if _, ok := e.Body.(rehab.Linked); ok {
			at = e.At
		}
	}
	return at
}

// ClinicCard is the clinic list as it goes out unasked; nil when nobody needs to be seen.
func ClinicCard(ctx context.Context, env *Env) ([]Reply, error) {
	list, err := patients(ctx, env)
	if err != nil || len(list) == 0 {
		return nil, err
	}
	return []Reply{clinicList(env, list)}, nil
}

// MorningCards ask an athlete about every ankle under treatment that was not answered for today.
func MorningCards(ctx context.Context, env *Env, a rehab.Athlete) ([]Reply, error) {
	state, err := env.Assess(ctx, a)
	if err != nil {
		return nil, err
	}
	var out []Reply
	for _, v := range state.Open() {
		if m := v.Morning; m.Known && rehab.DaysBetween(m.Date, dateOf(env.Now), time.UTC) == 0 {
			continue
		}
		out = append(out, MorningCard(env, a, v))
	}
	return out, nil
}

// DrillCards are an athlete's plans of today, one for each ankle under treatment, else for each prevention
// block whose week still asks for a session. None where nothing is to be done, or it was done.
func DrillCards(ctx context.Context, env *Env, a rehab.Athlete) ([]Reply, error) {
	state, err := env.Assess(ctx, a)
	if err != nil {
		return nil, err
	}
	var out []Reply
	for _, d := range drilled(state, env.Now) {
		if answeredToday(state.State, d.view.Side, env.Now) {
			continue
		}
		card, has, err := env.planReply(ctx, state, d.view, d.block, planArgs{Athlete: a, Side: d.view.Side, Minutes: -1})
		if err != nil {
			return nil, err
		}
		if has {
			out = append(out, card)
		}
	}
	return out, nil
}

// drill is an ankle that gets drills today; block is nil for one under treatment.
type drill struct {
	view  rehab.View
	block *rehab.Block
}

// drilled are the ankles that get drills today.
func drilled(a rehab.Assessment, now time.Time) (out []drill) {
	for _, v := range a.Open() {
		out = append(out, drill{view: v})
	}
	if len(out) > 0 {
		return out
	}
	for _, b := range a.Prevention {
		if b.Asks(now) {
			out = append(out, drill{b.View, &b})
		}
	}
	return out
}

// answeredToday reports whether anything was said today of the drills for one ankle.
func answeredToday(st rehab.State, side rehab.Side, now time.Time) bool {
	return slices.ContainsFunc(st.Sessions, func(e rehab.Entry) bool {
		b, ok := e.Body.(rehab.Trained)
		return ok && b.Side == side && rehab.DaysBetween(e.At, now, now.Location()) == 0
	})
}

// NudgeCards remind an athlete once of plans of today that were sent and not answered; none after an alarm.
func NudgeCards(ctx context.Context, env *Env, a rehab.Athlete) ([]Reply, error) {
	state, err := env.Assess(ctx, a)
	if err != nil {
		return nil, err
	}
	var out []Reply
	for _, d := range drilled(state, env.Now) {
		v := d.view
		p, sent := state.State.PlanFor(env.Now, v.Side, env.Now)
		if !sent || p.Shown || answeredToday(state.State, v.Side, env.Now) || rehab.NoDrills(state, v, env.Now) != "" || rehab.NoMore(state, v, env.Now) != "" {
			continue
		}
		reply := lines(fmt.Sprintf("Your %d minutes for the %s ankle are still open today. A few of them count too.", p.Minutes, v.Side))
		reply.Buttons = env.planButtons(a, v)
		out = append(out, reply)
	}
	return out, nil
}

// ConsentCard asks an athlete who has not said yes or no once more.
func ConsentCard(env *Env) []Reply {
	reply := lines(slices.Concat([]string{"You have not said yes or no yet. I ask once more, and then no more:"}, consentText(env.Team))...)
	reply.Buttons = consentButtons()
	return []Reply{reply}
}
