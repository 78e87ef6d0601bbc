package commands

import (
	"cmp"
	"context"
	"slices"

	"footing/rehab"
)

// Before works out the rows of the roster as they stood before some entries were recorded: what an
// undo and an edit put back. The rows come in the order to store them in, the latest change undone
// first, so that shirts which were swapped never meet. It refuses what cannot be put back without
// undoing more than those entries.
func Before(ctx context.Context, rec Records, entries []rehab.Entry) ([]rehab.Athlete, error) {
	var out []rehab.Athlete
	rows := map[int64]rehab.Athlete{}
	list := latestFirst(entries)
	if err := lock(ctx, rec, list, func(e rehab.Entry) int64 { return e.Athlete }); err != nil {
		return nil, err
	}
	for _, e := range list {
		since, err := others(ctx, rec, e, entries)
		if err != nil {
			return nil, err
		}
		row, seen := rows[e.Athlete]
		if !seen {
			if row, err = rec.Athlete(ctx, e.Athlete); err != nil {
				return nil, err
			}
		}
		if row, err = undone(row, e, since); err != nil {
			return nil, err
		}
		rows[row.ID] = row
		out = append(out, row)
	}
	if len(out) == 0 {
		return nil, nil
	}
	return out, worn(ctx, rec, out)
}

// lock takes the rows of the athletes some things are about.
func lock[T any](ctx context.Context, rec Records, list []T, athlete func(T) int64) error {
	ids := make([]int64, len(list))
	for i, v := range list {
		ids[i] = athlete(v)
	}
	_, err := rec.Lock(ctx, ids...)
	return err
}

// latestFirst keeps the entries that say something of the roster's rows.
func latestFirst(entries []rehab.Entry) []rehab.Entry {
	var out []rehab.Entry
	for _, e := range entries {
		switch e.Body.(type) {
		case rehab.Joined, rehab.Changed, rehab.Departed:
			out = append(out, e)
		}
	}
	slices.SortStableFunc(out, func(a, b rehab.Entry) int {
		return cmp.Or(b.Line-a.Line, cmp.Compare(b.Seq, a.Seq))
	})
	return out
}

// others lists what is on record of an entry's athlete besides the entries taken back.
func others(ctx context.Context, rec Records, e rehab.Entry, taken []rehab.Entry) ([]rehab.Entry, error) {
	all, err := rec.Entries(ctx, e.Athlete)
	return slices.DeleteFunc(all, func(o rehab.Entry) bool {
		return slices.ContainsFunc(taken, func(t rehab.Entry) bool { return t.Athlete == o.Athlete && t.Seq == o.Seq })
	}), err
}

// undone is a row without what one entry did to it.
func undone(row rehab.Athlete, e rehab.Entry, since []rehab.Entry) (rehab.Athlete, error) {
	switch b := e.Body.(type) {
	case rehab.Joined:
		if len(since) > 0 {
			return row, refuse("That put an athlete on the roster who has records since. Undo those first.")
		}
		row.Active = false
	case rehab.Changed:
		for _, later := range since {
			if c, ok := later.Body.(rehab.Changed); ok && later.Seq > e.Seq {
				if i := slices.IndexFunc(b.Fields, func(f string) bool { return slices.Contains(c.Fields, f) }); i >= 0 {
					return row, refuse("%s: %s was changed again since. Undo that first, or type what is right: change %d %s …", row.Label(), b.Fields[i], row.Shirt, b.Fields[i])
				}
			}
		}
		row = row.With(b.Fields, b.Was)
	case rehab.Departed:
		row.Active = true
	}
	return row, nil
}

// worn refuses rows whose shirt someone else on the roster wears.
func worn(ctx context.Context, rec Records, rows []rehab.Athlete) error {
	roster, err := rec.Athletes(ctx)
	if err != nil {
		return err
	}
	list := WithRows(roster, rows)
	for i := 1; i < len(list); i++ {
		a, other := list[i], list[i-1]
		if a.Shirt != other.Shirt {
			continue
		}
		if !slices.ContainsFunc(rows, func(r rehab.Athlete) bool { return r.ID == a.ID }) {
			a, other = other, a
		}
		return refuse("%d is worn by %s now, so %s cannot have it back. Give %s another number (change %d shirt N), then try again.", a.Shirt, other.Name, a.Name, other.Name, a.Shirt)
	}
	return nil
}

// WithRows is the roster with some rows as they are given, by shirt. Of two rows of one athlete the
// later counts.
func WithRows(roster, rows []rehab.Athlete) []rehab.Athlete {
	byID := map[int64]rehab.Athlete{}
	for _, a := range slices.Concat(roster, rows) {
		byID[a.ID] = a
	}
	var out []rehab.Athlete
	for _, a := range byID {
		if a.Active {
			out = append(out, a)
		}
	}
	slices.SortFunc(out, func(a, b rehab.Athlete) int { return cmp.Or(a.Shirt-b.Shirt, cmp.Compare(a.ID, b.ID)) })
	return out
}
