package store_test

import (
	"reflect"
	"testing"

	"footing/rehab"
	"footing/store"
	"footing/store/storetest"
)

func TestSquad(t *testing.T) {
	share(t, cases{
		"Squad's row is nobody on the roster":     squadIsNobody,
		"Squad's entries are its own":             squadEntriesAreItsOwn,
		"A team has one squad's row":              teamHasOneSquad,
		"Shirt 0 is never active":                 shirtZeroIsNeverActive,
		"Squads of two teams are kept apart":      squadsAreKeptApart,
		"Many who ask at once get the same squad": manyWhoAskGetOneSquad,
	})
}

func squadIsNobody(t *testing.T, q squad) {
	var squad rehab.Athlete
	q.at(noon, func(tx *store.Tx) {
		same(t, "entries before there is a row", must(tx.SquadEntries(ctx))(t), []rehab.Entry{})
		squad = must(tx.Squad(ctx))(t)
		same(t, "the row", squad, rehab.Athlete{ID: squad.ID})
		same(t, "its label", squad.Label(), "the squad")
		same(t, "its log", must(tx.Lock(ctx, squad.ID))(t), map[int64]int64{squad.ID: 0})
	})
	q.at(noon, func(tx *store.Tx) {
		same(t, "asked again", must(tx.Squad(ctx))(t), squad)
		same(t, "the roster", must(tx.Athletes(ctx))(t), []rehab.Athlete{q.a, q.b})
	})
}

func squadEntriesAreItsOwn(t *testing.T, q squad) {
	scheduled := rehab.Scheduled{Session: rehab.Match, Start: noon, Minutes: 80}
	q.at(noon, func(tx *store.Tx) {
		e := q.note(must(tx.Squad(ctx))(t).ID, "m1", "")
		e.Body = scheduled
		ok(t, tx.Append(ctx, []rehab.Entry{q.note(q.a.ID, "m1", "hers"), e}))
	})
	q.at(noon, func(tx *store.Tx) {
		squad := must(tx.Squad(ctx))(t)
		got := must(tx.SquadEntries(ctx))(t)
		if len(got) != 1 || !reflect.DeepEqual(got[0].Body, rehab.Body(scheduled)) || got[0].Athlete != squad.ID || got[0].Seq != 1 {
			t.Errorf("the squad's entries: %v", got)
		}
		same(t, "an athlete's entries", len(must(tx.Entries(ctx, q.a.ID))(t)), 1)
		same(t, "the squad's of the team's", must(tx.TeamEntries(ctx))(t)[squad.ID], got)
		ok(t, tx.Void(ctx, "m1", q.physio.ID, q.physio.ID))
		same(t, "taken back", must(tx.SquadEntries(ctx))(t), []rehab.Entry{})
		same(t, "the seq named", must(tx.VerifyChain(ctx, squad.ID))(t), int64(0))
	})
}

const putAthlete = `INSERT INTO athletes (team_id, shirt, name, name_folded, active, created_at) VALUES ($1, 0, 'x', 'x', $2, '2026-03-02T12:00:00.000000Z')`

func teamHasOneSquad(t *testing.T, q squad) {
	q.at(noon, func(tx *store.Tx) { must(tx.Squad(ctx))(t) })
	if _, err := q.db.Exec(putAthlete, q.team.ID, false); err == nil {
		t.Error("a team has two rows for the squad")
	}
}

func shirtZeroIsNeverActive(t *testing.T, q squad) {
	if _, err := q.db.Exec(putAthlete, q.team.ID, true); err == nil {
		t.Error("someone on the roster wears 0")
	}
	exec(t, q.db, putAthlete, q.team.ID, false) // it was that, and nothing else
}

func squadsAreKeptApart(t *testing.T, q squad) {
	other := q.found(t, "bats")
	q.at(noon, func(tx *store.Tx) {
		e := q.note(must(tx.Squad(ctx))(t).ID, "m1", "ours")
		ok(t, tx.Append(ctx, []rehab.Entry{e}))
	})
	other.at(noon, func(tx *store.Tx) {
		same(t, "the other team's", must(tx.SquadEntries(ctx))(t), []rehab.Entry{})
		must(tx.Squad(ctx))(t)
	})
	same(t, "rows", rows(t, q.db, `SELECT count(*), count(DISTINCT team_id) FROM athletes WHERE shirt = 0`), []string{"2|2"})
}

// Each writer is a process of its own, asks for the squad and adds to its log. None fails, all have
// added to one log.
func manyWhoAskGetOneSquad(t *testing.T, q squad) {
	const writers = 8
	failed, begin := make(chan error, writers), make(chan struct{})
	for range writers {
		s := storetest.Open(t, q.config)
		go func() {
			<-begin
			failed <- q.try(s, noon, func(tx *store.Tx) error {
				squad, err := tx.Squad(ctx)
				if err != nil {
					return err
				}
				return tx.Append(ctx, []rehab.Entry{q.note(squad.ID, "m1", "x")})
			})
		}()
	}
	close(begin)
	for range writers {
		ok(t, <-failed)
	}
	q.at(noon, func(tx *store.Tx) {
		same(t, "the seqs", seqs(must(tx.SquadEntries(ctx))(t)), []int64{1, 2, 3, 4, 5, 6, 7, 8})
	})
	same(t, "rows", rows(t, q.db, `SELECT count(*) FROM athletes WHERE shirt = 0`), []string{"1"})
}
