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
	if err := w.restore(ctx, reply.Restore); err != nil {
		return err
	}
	for i := range reply.Put {
		if err := w.put(ctx, &reply.Put[i]); err != nil {
			return err
		}
		reply.Entries = append(reply.Entries, reply.Put[i].Entry)
	}
	if err := w.tx.Supersede(ctx, l.source, l.row); err != nil {
		return err
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
