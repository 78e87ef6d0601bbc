package store

import (
	"context"
	"fmt"
	"time"
)

// Waiting is what is still to be sent.
type Waiting struct {
	Count  map[string]int // by kind; every one of Kinds is there
	Oldest time.Duration  // how long the oldest due message has been due; 0 when none is
}

// Waiting counts what waits, in all teams, by one look at the index of what is due. That it answers also
// shows that the database does.
func (s *Store) Waiting(ctx context.Context, now time.Time) (Waiting, error) {
	w := Waiting{Count: map[string]int{}}
	for _, k := range Kinds {
		w.Count[k] = 0
	}
	var rows []struct {
		Urgency int
		Count   int
		Due     instant
	}
	err := s.Do(ctx, now, func(t *Tx) error {
		rows = nil
		return t.list(ctx, "counting what waits", &rows, `SELECT o.urgency, count(*) AS count, min(o.due_at) AS due FROM outbox o WHERE `+waiting+` GROUP BY o.urgency`)
	})
	if err != nil {
		return Waiting{}, err
	}
	for _, r := range rows {
		if r.Urgency < 0 || r.Urgency >= len(Kinds) {
			return Waiting{}, fmt.Errorf("counting what waits: an urgency of %d", r.Urgency)
		}
		w.Count[Kinds[r.Urgency]] = r.Count
		w.Oldest = max(w.Oldest, now.Sub(r.Due.Time))
	}
	return w, nil
}
