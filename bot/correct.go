package bot

import (
	"context"
	"fmt"
	"slices"
	"time"

	"footing/commands"
	"footing/rehab"
)

// touch notes whose record an event changes, or may change.
func (w *work) touch(entries []rehab.Entry) {
	for _, e := range entries {
		if !slices.Contains(w.touched, e.Athlete) {
			w.touched = append(w.touched, e.Athlete)
		}
	}
}

// correct tells staff at once what an event changed of what they read in this morning's report,
// whichever command changed it, and keeps what they now know. It looks once, when all lines of the
// event are in, and at the present: nothing is said before the day's report or on a day without one,
// for then the next report says it.
func (w *work) correct(ctx context.Context) error {
	if len(w.touched) == 0 {
		return nil
	}
	if _, err := w.tx.Lock(ctx, w.touched...); err != nil {
		return err
	}
	now := w.tx.Now().In(w.zone)
	today := now.Format(time.DateOnly)
	date, told, err := w.tx.Told(ctx, now.AddDate(0, 0, 1).Format(time.DateOnly))
	if err != nil || date != today {
		return err
	}
	roster, err := w.tx.Athletes(ctx)
	if err != nil {
		return err
	}
	env := &commands.Env{Team: w.team, Now: now, Records: w.tx, Protocol: w.lang.Protocol, Book: w.b.book(ctx, w.tx, &w.failed)}
	for _, a := range roster {
		if !slices.Contains(w.touched, a.ID) {
			continue
		}
		read, known := told[a.ID]
		if !known {
			read.Level = rehab.Full // joined since the report
		}
		says, is, err := commands.Correction(ctx, env, a, read)
		if err != nil {
			return err
		}
		if says == "" {
			continue
		}
		if err := w.tx.PutTold(ctx, today, map[int64]rehab.Availability{a.ID: is}); err != nil {
			return err
		}
		key := fmt.Sprintf("correction/%d/%s/%d/%s", w.team.ID, today, a.ID, w.in.event())
		if err := w.enqueue(ctx, StaffRoom, "correction", key, body{Text: says}); err != nil {
			return err
		}
	}
	return nil
}
