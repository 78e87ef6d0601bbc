package bot

import (
	"context"
	"errors"
	"strings"

	"footing/rehab"
	"footing/store"
)

// home finds the team of a direct message: that in which its author is linked. Who is linked in several
// is asked which one is meant, unless what they press, edit or delete belongs to one. known is false when
// the question was asked, or the event is about nothing that is kept.
func (w *work) home(ctx context.Context) (known bool, err error) {
	if w.in.Team != "" {
		return true, nil
	}
	teams, err := w.linked(ctx)
	switch {
	case err != nil:
		return false, err
	case len(teams) == 0 && w.in.Kind != Created && w.in.Kind != Pressed:
		return false, nil
	case len(teams) == 0:
		return false, errStranger
	case len(teams) == 1:
		w.in.Team = teams[0].Key
		return true, nil
	case w.in.Kind == Created:
		return false, w.askTeam(ctx, teams)
	}
	for _, t := range teams {
		if err := w.tx.Enter(ctx, t.ID); err != nil {
			return false, err
		}
		if w.in.Kind == Pressed {
			var asked store.Pending
			if asked, err = w.tx.Pending(ctx, w.in.Token); err == nil {
				err = w.chosen(ctx, asked, t, teams)
			}
		} else {
			_, err = w.tx.Message(ctx, w.in.Message)
		}
		if err == nil {
			w.in.Team = t.Key
			return true, nil
		}
		if !errors.Is(err, store.ErrNotFound) {
			return false, err
		}
	}
	if w.in.Kind == Edited { // before it was said which team it is for: that is asked of what it says now
		return false, w.askTeam(ctx, teams)
	}
	w.in.Team = teams[0].Key
	return w.in.Kind == Pressed, nil // a button of nobody's is answered; the rest was never kept
}

// ofTeams ends the group of the buttons that ask which team a message is for.
const ofTeams = "/team"

// chosen makes the choice of a team the only one: the same question's buttons of the other teams are
// answered with it.
func (w *work) chosen(ctx context.Context, p store.Pending, team rehab.Team, teams []rehab.Team) error {
	who, err := w.tx.Account(ctx, w.in.Author)
	if err != nil || who.ID != p.AskedOf || !p.Used.IsZero() || !strings.HasSuffix(p.Group, ofTeams) {
		return err
	}
	for _, other := range teams {
		if other.ID == team.ID {
			continue
		}
		if err := w.tx.Enter(ctx, other.ID); err != nil {
			return err
		}
		if _, err := w.tx.UsePending(ctx, p.Group); err != nil {
			return err
		}
	}
	return nil
}

func (w *work) linked(ctx context.Context) ([]rehab.Team, error) {
	ids, err := w.tx.LinkedTeams(ctx, w.in.Author)
	if err != nil || len(ids) == 0 {
		return nil, err
	}
	var out []rehab.Team
	for _, id := range ids {
		t, err := w.tx.TeamByID(ctx, id)
		if err != nil {
			return nil, err
		}
		if t.Gone.IsZero() {
			out = append(out, t)
		}
	}
	return out, nil
}

// askTeam asks an athlete of several teams which one a message is for: a button for each, kept in that
// team, so that no team's row is another's.
func (w *work) askTeam(ctx context.Context, teams []rehab.Team) error {
	place := DirectTo(w.in.Author)
	m := body{Text: "You are in more than one team. Which one is that for?"}
	if w.in.Command != "" {
		m.Text = "You are in more than one team: please type that as a line here, or use the command on the team's server. Nothing was saved."
		teams = teams[:1]
	} else if strings.Contains(strings.TrimSpace(w.in.Text), "\n") || unfit(w.in.Text) != "" {
		m.Text = "You are in more than one team: please send one line at a time. Nothing was saved."
		teams = teams[:1]
	}
	for i := len(teams) - 1; i >= 0; i-- { // the first last: it is the one that says it
		w.team = teams[i]
		if err := w.tx.Enter(ctx, w.team.ID); err != nil {
			return err
		}
		var err error
		if w.actor, err = w.tx.Member(ctx, w.in.Author, nil); err != nil {
			return err
		}
		if err := w.tx.DropPending(ctx, w.in.Message); err != nil {
			return err
		}
		if len(teams) == 1 {
			break
		}
		p := store.Pending{
			Token: token(), Group: w.in.event() + ofTeams, Label: short(w.team.Name), Line: strings.TrimSpace(w.in.Text), Place: string(place),
			Source: w.in.Message, AskedOf: w.actor.ID, Asked: w.in.Sent, Expires: w.in.Sent.Add(questionLife),
		}
		if err := w.tx.PutPending(ctx, p); err != nil {
			return err
		}
		m.Buttons = append([]Button{{Label: p.Label, Token: p.Token}}, m.Buttons...)
	}
	return w.enqueue(ctx, place, "reply", w.in.event()+ofTeams, m)
}
