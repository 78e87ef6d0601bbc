package store_test

import (
	"database/sql"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/lib/pq"

	"footing/rehab"
	"footing/store"
	"footing/store/storetest"
)

// Tables that say something about a person's health, or who they are. A new table with a team's rows
// belongs in one of these two lists.
var (
	private   = []string{"athletes", "members", "athlete_state", "messages", "entries", "measurements", "decisions", "pending", "outbox_bodies", "told"}
	crossTeam = []string{"destinations", "outbox", "occurrences"}
)

// fill puts at least one row into every table for a squad.
func fill(q squad) {
	q.t.Helper()
	e, f := q.note(q.a.ID, "m1", ""), q.note(q.a.ID, "m1", "")
	e.Body = rehab.Tested{Test: "hop", Side: rehab.Left, Trials: []rehab.Trial{{Value: 1}}}
	f.Body = rehab.Decided{Action: rehab.Stay, Protocol: hash}
	q.at(noon, func(tx *store.Tx) {
		ok(q.t, tx.PutMessage(ctx, store.Message{Key: "m1", Author: q.physio.ID, Place: "medical", Sent: noon}))
		ok(q.t, tx.Append(ctx, []rehab.Entry{e, f}))
		ok(q.t, tx.PutPending(ctx, button(q, "token of "+q.team.Key, "g1")))
		ok(q.t, tx.PutTold(ctx, "2026-03-01", map[int64]rehab.Availability{q.a.ID: {Level: rehab.Full}}))
		must(tx.Occur(ctx, "report", "2026-03-01", "sent"))(q.t)
		must(tx.Enqueue(ctx, store.Outgoing{Destination: "staff", Kind: "reply", Key: q.team.Key, Body: "x", Due: noon, LeaseBy: "A"}))(q.t)
	})
}

// held dumps all rows of a squad's team.
func held(q squad) []string {
	q.t.Helper()
	var out []string
	for _, table := range slices.Concat(private, crossTeam) {
		list := rows(q.t, q.db, `SELECT * FROM `+table+` WHERE team_id = $1`, q.team.ID)
		if len(list) == 0 {
			q.t.Errorf("the test has put nothing into %s", table)
		}
		slices.Sort(list)
		for _, line := range list {
			out = append(out, table+" "+line)
		}
	}
	return out
}

// The queries themselves keep teams apart: SQLite has no row security to do it for them.
func TestTeamNeitherSeesNorChangesAnother(t *testing.T) {
	share(t, cases{"through every method": func(t *testing.T, q squad) {
		other := q.found(t, "bats")
		fill(q)
		mine := held(q)
		var name string // of a call that must not find the other team's rows
		refused := func(err error) {
			t.Helper()
			is(t, name, err, store.ErrNotFound)
		}
		other.at(noon.Add(time.Hour), func(tx *store.Tx) {
			same(t, "the roster", must(tx.Athletes(ctx))(t), []rehab.Athlete{other.a, other.b})
			same(t, "entries", must(tx.Entries(ctx, q.a.ID))(t), []rehab.Entry{})
			same(t, "all entries", must(tx.TeamEntries(ctx))(t), map[int64][]rehab.Entry{})
			same(t, "entries of a message", must(tx.SourceEntries(ctx, "m1"))(t), []rehab.Entry{})
			source, _, err := tx.LastSource(ctx, q.physio.ID, noon.Add(-time.Hour))
			same(t, "the last message", source, must("", err)(t))
			date, _, err := tx.Told(ctx, "2026-03-02")
			same(t, "the day told", date, must("", err)(t))
			same(t, "occurred", must(tx.Occurred(ctx, "report", "2026-03-01"))(t), false)
			if m := must(tx.Member(ctx, "physio", []rehab.Role{rehab.Coach}))(t); m.ID != other.physio.ID {
				t.Errorf("one key in two teams is one member: %v", m)
			}

			name = "the chat message"
			_, err = tx.Message(ctx, "m1")
			refused(err)
			name = "the button"
			_, err = tx.Pending(ctx, "token of otters")
			refused(err)
			name = "locking"
			_, err = tx.Lock(ctx, q.a.ID)
			refused(err)
			name = "appending"
			refused(tx.Append(ctx, []rehab.Entry{q.note(q.a.ID, "m1", "x")}))
			name = "changing the athlete"
			refused(tx.ChangeAthlete(ctx, rehab.Athlete{ID: q.a.ID, Shirt: 70, Name: "x"}, strings.ToLower))

			same(t, "revising", must(tx.Revise(ctx, "m1", noon.Add(time.Hour)))(t), false)
			same(t, "pressing", must(tx.UsePending(ctx, "g1"))(t), false)
			ok(t, tx.DropPending(ctx, "m1"))
			ok(t, tx.Void(ctx, "m1", other.physio.ID))
			ok(t, tx.Supersede(ctx, "m1", 0))
			ok(t, tx.Flag(ctx, "m1"))
			ok(t, tx.Settle(ctx, "m1"))
			ok(t, tx.Link(ctx, q.physio.ID, other.a.ID))
			ok(t, tx.PutTold(ctx, "2026-03-01", map[int64]rehab.Availability{other.a.ID: {Level: rehab.Unavailable}}))
			same(t, "occurring", must(tx.Occur(ctx, "report", "2026-03-01", "missed"))(t), true)
		})
		same(t, "the team's rows", held(q), mine)
	}})
}

func TestLinkToAnotherTeamsAthleteIsRefused(t *testing.T) {
	share(t, cases{"by the key": func(t *testing.T, q squad) {
		other := q.found(t, "bats")
		if err := q.try(q.s, noon, func(tx *store.Tx) error { return tx.Link(ctx, q.physio.ID, other.a.ID) }); err == nil {
			t.Error("a member is linked to an athlete of another team")
		}
	}})
}

func TestEveryTeamTableIsListed(t *testing.T) {
	t.Parallel()
	db := raw(t, storetest.Postgres(t))
	all := rows(t, db, `SELECT table_name FROM information_schema.columns WHERE column_name = 'team_id' AND table_schema = current_schema()`)
	want := slices.Concat(private, crossTeam)
	slices.Sort(all)
	slices.Sort(want)
	same(t, "tables with a team's rows", all, want)
	secured := rows(t, db, `SELECT relname FROM pg_class c WHERE relrowsecurity AND EXISTS (SELECT 1 FROM pg_policy p WHERE p.polrelid = c.oid AND p.polcmd = '*')`)
	want = slices.Sorted(slices.Values(private))
	slices.Sort(secured)
	same(t, "tables with row security", secured, want)
}

// inTeam runs one statement as the application, bound to a team as Enter binds it.
func inTeam(t *testing.T, s *store.Store, team int64, query string, args ...any) (int64, error) {
	t.Helper()
	tx, err := s.DB().Begin()
	ok(t, err)
	defer func() { _ = tx.Rollback() }()
	if team != 0 {
		_, err := tx.Exec(`SELECT set_config('footing.team', $1, true)`, text(team))
		ok(t, err)
	}
	res, err := tx.Exec(query, args...)
	if err != nil {
		return 0, err
	}
	return must(res.RowsAffected())(t), nil
}

func denied(err error) bool {
	var p *pq.Error
	return errors.As(err, &p) && p.Code == "42501"
}

// Whatever the queries say, the application role reaches one team's rows at a time.
func TestRowSecurityBindsTheApplication(t *testing.T) {
	onPostgres(t, func(t *testing.T, q squad) {
		other := q.found(t, "bats")
		fill(q)
		fill(other)
		for _, table := range private {
			count := func(team int64, query string, args ...any) int64 {
				t.Helper()
				return must(inTeam(t, q.s, team, query, args...))(t)
			}
			same(t, table+" seen without a team", count(0, `SELECT 1 FROM `+table), int64(0))
			if count(q.team.ID, `SELECT 1 FROM `+table) == 0 {
				t.Errorf("%s: a team does not see its own", table)
			}
			same(t, table+" seen of another team", count(q.team.ID, `SELECT 1 FROM `+table+` WHERE team_id <> $1`, q.team.ID), int64(0))
			same(t, table+" changed of another team", count(q.team.ID, `UPDATE `+table+` SET team_id = team_id WHERE team_id = $1`, other.team.ID), int64(0))
			same(t, table+" deleted of another team", count(q.team.ID, `DELETE FROM `+table+` WHERE team_id = $1`, other.team.ID), int64(0))

			_, err := inTeam(t, q.s, q.team.ID, `UPDATE `+table+` SET team_id = $1`, other.team.ID)
			same(t, table+": giving a row to another team is denied", denied(err), true)
			columns := others(t, q.db, table)
			_, err = inTeam(t, q.s, q.team.ID, `INSERT INTO `+table+` (team_id`+columns+`) SELECT $1::BIGINT`+columns+` FROM `+table+` LIMIT 1`, other.team.ID)
			same(t, table+": inserting for another team is denied", denied(err), true)
			_, err = inTeam(t, q.s, q.team.ID, `SET LOCAL row_security = off; SELECT 1 FROM `+table)
			same(t, table+": reading past row security is denied", denied(err), true)
		}
	})
}

// others lists a table's columns that an insert gives, but for the team.
func others(t *testing.T, db *sql.DB, table string) (out string) {
	t.Helper()
	for _, c := range rows(t, db, `SELECT column_name FROM information_schema.columns WHERE table_name = $1 AND is_identity = 'NO' AND column_name <> 'team_id'`, table) {
		out += ", " + c
	}
	return out
}
