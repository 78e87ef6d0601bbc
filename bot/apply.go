package bot

import (
	"context"
	"slices"

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
	if err := w.tx.Supersede(ctx, l.source, l.row); err != nil {
		return err
	}
	if reply.Add != nil {
		if err := w.roster(ctx, reply); err != nil {
			return err
		}
	}
	if reply.Void != "" {
		if err := w.void(ctx, reply.Void); err != nil {
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

func (w *work) roster(ctx context.Context, reply *commands.Reply) error {
	if reply.Add.ID != 0 {
		return w.tx.ChangeAthlete(ctx, *reply.Add, commands.Fold)
	}
	a, err := w.tx.AddAthlete(ctx, *reply.Add, commands.Fold)
	if err != nil {
		return err
	}
	reply.Add = &a
	for i := range reply.Entries {
		reply.Entries[i].Athlete = a.ID
	}
	return nil
}

// void takes a message's entries back; an athlete it had put on the roster leaves it.
func (w *work) void(ctx context.Context, source string) error {
	entries, err := w.tx.SourceEntries(ctx, source)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if _, ok := e.Body.(rehab.Joined); !ok {
			continue
		}
		for _, a := range w.lang.Roster {
			if a.ID == e.Athlete {
				a.Active = false
				if err := w.tx.ChangeAthlete(ctx, a, commands.Fold); err != nil {
					return err
				}
			}
		}
	}
	w.touch(entries)
	return w.tx.Void(ctx, source, w.actor.ID)
}

// without hides what one line of one message recorded: an edited line is judged as if it had never
// been sent.
type without struct {
	*store.Tx
	source string
	row    int
}

func (r without) hides(e rehab.Entry) bool { return e.Source == r.source && e.Line == r.row }

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
