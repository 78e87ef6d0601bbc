package bot

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"footing/commands"
	"footing/rehab"
	"footing/store"
)

// apply stores what a command wants to happen.
func (w *work) apply(ctx context.Context, l line, reply *commands.Reply) error {
	old, err := w.replaced(ctx, l)
	if err != nil {
		return err
	}
	w.touch(old)
	if err := w.restore(ctx, reply.Restore); err != nil {
		return err
	}
	for i := range reply.Put {
		if err := w.put(ctx, &reply.Put[i]); err != nil {
			return whole(err, i)
		}
		reply.Entries = append(reply.Entries, reply.Put[i].Entry)
	}
	if err := w.connect(ctx, reply); err != nil {
		return err
	}
	if l.first == 0 {
		if err := w.tx.Supersede(ctx, l.source, l.row); err != nil {
			return err
		}
	}
	if reply.Void != "" {
		gone, err := w.tx.SourceEntries(ctx, reply.Void)
		if err != nil {
			return err
		}
		w.touch(gone)
		if err := w.tx.Void(ctx, reply.Void, reply.By, w.actor.ID); err != nil {
			return err
		}
	}
	if reply.Settle != "" {
		if err := w.tx.Settle(ctx, reply.Settle); err != nil {
			return err
		}
	}
	for i := range reply.Entries {
		e := &reply.Entries[i]
		e.Author, e.Source, e.Line = w.actor.ID, l.source, l.row
	}
	w.touch(reply.Entries)
	return w.tx.Append(ctx, reply.Entries)
}

// whole is what fails a file of athletes of which some are stored already: a refusal would keep those.
func whole(err error, stored int) error {
	if no := (*commands.Refusal)(nil); stored > 0 && errors.As(err, &no) {
		return fmt.Errorf("after %d athletes: %w", stored, store.ErrShirtTaken)
	}
	return err
}

// connect stores the team's settings, and which account an athlete has.
func (w *work) connect(ctx context.Context, reply *commands.Reply) (err error) {
	if reply.Team != nil {
		if w.team, err = w.tx.PutTeam(ctx, *reply.Team); err != nil {
			return err
		}
		w.settings = true
		if w.zone, err = time.LoadLocation(w.team.Zone); err != nil {
			return fmt.Errorf("loading the team's zone: %w", err)
		}
	}
	if reply.Link == nil {
		return nil
	}
	if err := w.tx.Part(ctx, reply.Link.Athlete); err != nil || reply.Link.Account == "" {
		return err
	}
	m, err := w.account(ctx, reply.Link.Account)
	if err != nil {
		return err
	}
	return w.tx.Link(ctx, m.ID, reply.Link.Athlete)
}

// account finds the member of an account, or makes one of somebody who has not written yet.
func (w *work) account(ctx context.Context, key string) (rehab.Member, error) {
	m, err := w.tx.Account(ctx, key)
	if err != nil || m.ID != 0 {
		return m, err
	}
	return w.tx.Member(ctx, key, nil)
}

// without hides what one line of one message recorded: an edited line is judged as if it had never
// been sent.
type without struct {
	*store.Tx
	source string
	row    int
	before []rehab.Athlete // rows of the roster that line changed, as they were
}

func (r without) hides(e rehab.Entry) bool { return e.Source == r.source && e.Line == r.row }

func (r without) Athletes(ctx context.Context) ([]rehab.Athlete, error) {
	roster, err := r.Tx.Athletes(ctx)
	return commands.WithRows(roster, r.before), err
}

func (r without) Entries(ctx context.Context, athlete int64) ([]rehab.Entry, error) {
	all, err := r.Tx.Entries(ctx, athlete)
	return slices.DeleteFunc(all, r.hides), err
}

func (r without) TeamEntries(ctx context.Context) (map[int64][]rehab.Entry, error) {
	all, err := r.Tx.TeamEntries(ctx)
	for id := range all {
		all[id] = slices.DeleteFunc(all[id], r.hides)
	}
	return all, err
}

func (r without) SquadEntries(ctx context.Context) ([]rehab.Entry, error) {
	all, err := r.Tx.SquadEntries(ctx)
	return slices.DeleteFunc(all, r.hides), err
}
