package store

import (
	"context"
	"errors"

	"footing/rehab"
)

// Squad is the row that stands for the squad as a whole, on which the team's own entries hang. It
// comes to be when it is first asked for; of several who ask at once one makes it and the others wait.
func (t *Tx) Squad(ctx context.Context) (rehab.Athlete, error) {
	a, err := t.squad(ctx)
	if !errors.Is(err, ErrNotFound) {
		return a, err
	}
	err = t.exec(ctx, "making the squad's row", `INSERT INTO athletes (team_id, shirt, name, name_folded, active, created_at)
		VALUES ($1, 0, '', '', FALSE, $2) ON CONFLICT (team_id) WHERE shirt = 0 DO NOTHING`, t.team, at(t.now))
	if err != nil {
		return rehab.Athlete{}, err
	}
	if a, err = t.squad(ctx); err != nil {
		return a, err
	}
	return a, t.exec(ctx, "starting the squad's log", `INSERT INTO athlete_state (team_id, athlete_id) VALUES ($1, $2) ON CONFLICT (team_id, athlete_id) DO NOTHING`, t.team, a.ID)
}

func (t *Tx) squad(ctx context.Context) (rehab.Athlete, error) {
	var r athleteRow
	err := t.get(ctx, "finding the squad's row", &r, `SELECT `+athleteColumns+` FROM athletes WHERE team_id = $1 AND shirt = 0`, t.team)
	return r.athlete(), err
}

// SquadEntries lists the live entries of the squad as a whole by seq; none when nothing was ever said
// of it.
func (t *Tx) SquadEntries(ctx context.Context) ([]rehab.Entry, error) {
	return t.entries(ctx, live+`AND athlete_id = (SELECT id FROM athletes WHERE team_id = $1 AND shirt = 0)`)
}
