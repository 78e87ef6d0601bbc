package store_test

import (
	"testing"

	"footing/store"
	"footing/store/storetest"
)

// A pooled connection serves one team after the other.
func TestTeamEndsWithItsTransaction(t *testing.T) {
	onPostgres(t, func(t *testing.T, q squad) {
		q.s.DB().SetMaxOpenConns(1)
		q.at(noon, func(tx *store.Tx) { same(t, "inside", len(must(tx.Athletes(ctx))(t)), 2) })
		same(t, "athletes seen after", rows(t, q.s.DB(), `SELECT count(*) FROM athletes`), []string{"0"})
		is(t, "the failed work", q.try(q.s, noon, func(*store.Tx) error { return errAny }), errAny)
		same(t, "athletes seen after a rollback", rows(t, q.s.DB(), `SELECT count(*) FROM athletes`), []string{"0"})
	})
}

func TestApplicationRoleHasNoRightsOfItsOwn(t *testing.T) {
	t.Parallel()
	s := storetest.Open(t, storetest.Postgres(t))
	same(t, "superuser, past row security, create role, create database",
		rows(t, s.DB(), `SELECT rolsuper, rolbypassrls, rolcreaterole, rolcreatedb FROM pg_roles WHERE rolname = current_user`), []string{"0|0|0|0"})
	same(t, "tables it owns", rows(t, s.DB(), `SELECT tablename FROM pg_tables WHERE tableowner = current_user`), []string{})
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
		if _, err := s.DB().Exec(query); !denied(err) {
			t.Errorf("%s: %v", query, err)
		}
	}
}
