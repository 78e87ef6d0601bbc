package store_test

import (
	"database/sql"
	"errors"
	"slices"
	"testing"

	"github.com/lib/pq"

	"footing/store"
	"footing/store/storetest"
)

func TestRoles(t *testing.T) {
	onPostgres(t, cases{
		"Every table of a team is listed":           everyTeamTableIsListed,
		"Row security binds the application":        rowSecurityBindsTheApplication,
		"Team ends with its transaction":            teamEndsWithItsTransaction,
		"Application role has no rights of its own": applicationRoleHasNoRightsOfItsOwn,
		"Owner's address works as the application":  ownersAddressWorksAsTheApplication,
	})
}

func everyTeamTableIsListed(t *testing.T, q squad) {
	all := rows(t, q.db, `SELECT table_name FROM information_schema.columns WHERE column_name = 'team_id' AND table_schema = current_schema()`)
	slices.Sort(all)
	same(t, "tables with a team's rows", all, slices.Sorted(slices.Values(slices.Concat(private, crossTeam))))
	secured := rows(t, q.db, `SELECT relname FROM pg_class c WHERE relrowsecurity AND EXISTS (SELECT 1 FROM pg_policy p WHERE p.polrelid = c.oid AND p.polcmd = '*')`)
	slices.Sort(secured)
	same(t, "tables with row security", secured, slices.Sorted(slices.Values(private)))
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
func rowSecurityBindsTheApplication(t *testing.T, q squad) {
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
}

// others lists a table's columns that an insert gives, but for the team.
func others(t *testing.T, db *sql.DB, table string) (out string) {
	t.Helper()
	for _, c := range rows(t, db, `SELECT column_name FROM information_schema.columns WHERE table_name = $1 AND is_identity = 'NO' AND column_name <> 'team_id'`, table) {
		out += ", " + c
	}
	return out
}

// A pooled connection serves one team after the other.
func teamEndsWithItsTransaction(t *testing.T, q squad) {
	q.s = storetest.Open(t, q.config)
	q.s.DB().SetMaxOpenConns(1)
	q.at(noon, func(tx *store.Tx) { same(t, "inside", len(must(tx.Athletes(ctx))(t)), 2) })
	same(t, "athletes seen after", rows(t, q.s.DB(), `SELECT count(*) FROM athletes`), []string{"0"})
	is(t, "the failed work", q.try(q.s, noon, func(*store.Tx) error { return errAny }), errAny)
	same(t, "athletes seen after a rollback", rows(t, q.s.DB(), `SELECT count(*) FROM athletes`), []string{"0"})
}

func applicationRoleHasNoRightsOfItsOwn(t *testing.T, q squad) {
	db := q.s.DB()
	same(t, "superuser, past row security, create role, create database",
		rows(t, db, `SELECT rolsuper, rolbypassrls, rolcreaterole, rolcreatedb FROM pg_roles WHERE rolname = current_user`), []string{"0|0|0|0"})
	same(t, "tables it owns", rows(t, db, `SELECT tablename FROM pg_tables WHERE tableowner = current_user`), []string{})
	for _, query := range []string{
		`CREATE TABLE mine (id BIGINT)`,
		`DROP TABLE entries`,
		`TRUNCATE entries`,
		`ALTER TABLE entries DISABLE ROW LEVEL SECURITY`,
		`DROP POLICY own_team ON entries`,
		`CREATE POLICY all_teams ON entries USING (true)`,
		`CREATE VIEW v AS SELECT * FROM entries`,
		`INSERT INTO goose_db_version (version_id, is_applied) VALUES (9999, true)`,
		`UPDATE goose_db_version SET version_id = 9999`,
		`DELETE FROM goose_db_version`,
	} {
		if _, err := db.Exec(query); !denied(err) {
			t.Errorf("%s: %v", query, err)
		}
	}
}

// Who sets up one role only gives its address alone. The program still works under row security.
func ownersAddressWorksAsTheApplication(t *testing.T, q squad) {
	if rows(t, q.db, `SELECT pg_has_role(current_user, 'footing_app', 'MEMBER')`)[0] != "1" {
		t.Skip("this server's owner may not become the application role")
	}
	s := storetest.Open(t, store.Config{URL: q.config.OwnerURL})
	same(t, "it works as", rows(t, s.DB(), `SELECT current_user`), []string{"footing_app"})
	same(t, "athletes seen without a team", rows(t, s.DB(), `SELECT count(*) FROM athletes`), []string{"0"})
	ok(t, q.try(s, noon, func(tx *store.Tx) error {
		same(t, "athletes of the team", len(must(tx.Athletes(ctx))(t)), 2)
		return nil
	}))
}
