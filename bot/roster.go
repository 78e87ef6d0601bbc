package bot

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"footing/commands"
	"footing/rehab"
	"footing/store"
)

// readRoster reads whose names may be typed, with some rows as they were before an edited line.
func (w *work) readRoster(ctx context.Context, before ...rehab.Athlete) error {
	roster, err := w.tx.Athletes(ctx)
	w.lang.SetRoster(commands.WithRows(roster, before))
	return err
}

// left reports whether the writer is an athlete who is no longer on the roster, and nothing else. The
// account of one who left is parted from them; a front may still take it for an athlete's.
func (w *work) left() bool {
	if !slices.Contains(w.actor.Roles, rehab.AthleteRole) || slices.ContainsFunc(w.actor.Roles, func(r rehab.Role) bool { return r != rehab.AthleteRole }) {
		return false
	}
	return !slices.ContainsFunc(w.lang.Roster, func(a rehab.Athlete) bool { return a.ID == w.actor.Athlete })
}

// rosterBefore is the rows an edited line changed, as they were before it: the line is read against
// those. Whom it put on the roster stays there until it is known what the line says now.
func (w *work) rosterBefore(ctx context.Context, l line) ([]rehab.Athlete, error) {
	old, err := w.replaced(ctx, l)
	if err != nil {
		return nil, err
	}
	return commands.Before(ctx, w.tx, notJoined(old, func(int64) bool { return true }))
}

// giveBack adds to a reply what its line had done to the roster before it was edited, but for the
// athletes it puts there again.
func (w *work) giveBack(ctx context.Context, old []rehab.Entry, reply *commands.Reply) error {
	again := func(id int64) bool {
		return slices.ContainsFunc(reply.Put, func(p commands.Put) bool { return p.Athlete.ID == id })
	}
	before, err := commands.Before(ctx, w.tx, notJoined(old, again))
	reply.Restore = append(before, reply.Restore...)
	return err
}

// notJoined leaves out that some athletes came onto the roster.
func notJoined(old []rehab.Entry, athlete func(id int64) bool) []rehab.Entry {
	return slices.DeleteFunc(slices.Clone(old), func(e rehab.Entry) bool {
		_, joined := e.Body.(rehab.Joined)
		return joined && athlete(e.Athlete)
	})
}

// restore puts rows of the roster back.
func (w *work) restore(ctx context.Context, rows []rehab.Athlete) error {
	for _, a := range rows {
		if err := w.change(ctx, a); err != nil {
			return err
		}
	}
	return nil
}

// change stores a row. Who leaves the roster has no account any longer: it must be linked anew should
// they come back.
func (w *work) change(ctx context.Context, a rehab.Athlete) error {
	if !a.Active {
		if err := w.tx.Part(ctx, a.ID); err != nil {
			return err
		}
	}
	return w.tx.ChangeAthlete(ctx, a, commands.Fold)
}

// put stores a row of the roster; who is new gets their id.
func (w *work) put(ctx context.Context, p *commands.Put) (err error) {
	if p.Athlete.ID != 0 {
		return w.change(ctx, p.Athlete)
	}
	shirt := p.Athlete.Shirt
	p.Athlete, err = w.tx.AddAthlete(ctx, p.Athlete, commands.Fold)
	if errors.Is(err, store.ErrShirtTaken) { // by someone added at the same moment
		return &commands.Refusal{Says: fmt.Sprintf("%d was given to another just now. Choose another number.", shirt)}
	}
	p.Entry.Athlete = p.Athlete.ID
	return err
}
