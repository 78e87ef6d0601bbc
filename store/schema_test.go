package store_test

import (
	"database/sql"
	"fmt"
	"slices"
	"strings"
	"testing"

	"footing/store/storetest"
)

// One set of queries runs on both engines, so both must have the same tables. What goose keeps for
// itself differs and is left out.
func TestEnginesHaveTheSameSchema(t *testing.T) {
	t.Parallel()
	light, heavy := raw(t, storetest.SQLite(t)), raw(t, storetest.Postgres(t))
	got, want := schemaOf(t, light, sqliteSchema), schemaOf(t, heavy, postgresSchema)
	for _, line := range want {
		if !slices.Contains(got, line) {
			t.Errorf("only PostgreSQL has %s", line)
		}
	}
	for _, line := range got {
		if !slices.Contains(want, line) {
			t.Errorf("only SQLite has %s", line)
		}
	}
	for _, kind := range []string{"column", "primary key", "unique", "unique where", "index", "foreign key"} {
		if !slices.ContainsFunc(want, func(line string) bool { return strings.HasPrefix(line, kind+" ") }) {
			t.Errorf("no %s was compared", kind)
		}
	}
}

func TestTables(t *testing.T) {
	share(t, cases{"Tables are those the tests know": tablesAreKnown, "There are no views": noViews})
}

func tablesAreKnown(t *testing.T, q squad) {
	query := `SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' AND name <> 'goose_db_version'`
	if q.s.Engine() == "postgres" {
		query = `SELECT tablename FROM pg_tables WHERE schemaname = current_schema() AND tablename <> 'goose_db_version'`
	}
	got := rows(t, q.db, query)
	slices.Sort(got)
	same(t, "the tables", got, slices.Sorted(slices.Values(tables)))
}

// A view runs as its owner and would show every team's rows.
func noViews(t *testing.T, q squad) {
	query := `SELECT name FROM sqlite_master WHERE type = 'view'`
	if q.s.Engine() == "postgres" {
		query = `SELECT relname FROM pg_class WHERE relkind IN ('v', 'm') AND relnamespace = current_schema()::regnamespace`
	}
	same(t, "the views", rows(t, q.db, query), []string{})
}

// schemaQueries give lines of text that are the same for the same schema.
type schemaQueries struct{ columns, primary, indexes, foreign string }

func schemaOf(t *testing.T, db *sql.DB, q schemaQueries) []string {
	t.Helper()
	var out []string
	for _, part := range []struct{ format, query string }{
		{"column %s", q.columns}, {"primary key %s", q.primary}, {"%s", q.indexes}, {"foreign key %s", q.foreign},
	} {
		for _, line := range rows(t, db, part.query) {
			out = append(out, fmt.Sprintf(part.format, strings.ReplaceAll(line, "|", " ")))
		}
	}
	return out
}

const sqliteTables = `(SELECT name AS tab FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' AND name <> 'goose_db_version')`

// Booleans and instants have no type of their own on SQLite: both engines' types are reduced to what
// SQLite calls them.
var sqliteSchema = schemaQueries{
	columns: `SELECT tab, c.name, c.type, CASE WHEN c."notnull" = 1 OR c.pk > 0 THEN 'not null' ELSE '' END, coalesce('default ' || CASE c.dflt_value WHEN '''''' THEN 'empty' ELSE c.dflt_value END, '')
		FROM ` + sqliteTables + `, pragma_table_info(tab) c`,
	primary: `SELECT tab, group_concat(name) FROM (SELECT tab, c.name FROM ` + sqliteTables + `, pragma_table_info(tab) c WHERE c.pk > 0 ORDER BY tab, c.pk) GROUP BY tab`,
	indexes: `SELECT CASE WHEN uniq AND partial THEN 'unique where' WHEN uniq THEN 'unique' WHEN partial THEN 'index where' ELSE 'index' END, tab, group_concat(col)
		FROM (SELECT tab, i.name, i."unique" AS uniq, i.partial, x.name AS col FROM ` + sqliteTables + `, pragma_index_list(tab) i, pragma_index_info(i.name) x
			WHERE i.origin <> 'pk' ORDER BY tab, i.name, x.seqno) GROUP BY tab, name`,
	foreign: `SELECT tab, group_concat(f."from"), f."table", group_concat(f."to") FROM (SELECT * FROM ` + sqliteTables + `, pragma_foreign_key_list(tab) ORDER BY tab, id, seq) f GROUP BY tab, f.id`,
}

const keyColumns = `(SELECT string_agg(a.attname, ',' ORDER BY k.n) FROM unnest(%s) WITH ORDINALITY k(col, n) JOIN pg_attribute a ON a.attrelid = %s AND a.attnum = k.col)`

var postgresSchema = schemaQueries{
	columns: `SELECT table_name, column_name,
			CASE data_type WHEN 'bigint' THEN 'INTEGER' WHEN 'boolean' THEN 'INTEGER' WHEN 'text' THEN 'TEXT' WHEN 'timestamp with time zone' THEN 'TEXT' WHEN 'double precision' THEN 'REAL' ELSE data_type END,
			CASE is_nullable WHEN 'NO' THEN 'not null' ELSE '' END, coalesce('default ' || CASE column_default WHEN '''''::text' THEN 'empty' ELSE column_default END, '')
		FROM information_schema.columns WHERE table_schema = current_schema() AND table_name <> 'goose_db_version'`,
	primary: `SELECT conrelid::regclass, ` + fmt.Sprintf(keyColumns, "conkey", "conrelid") + `
		FROM pg_constraint WHERE contype = 'p' AND connamespace = current_schema()::regnamespace AND conrelid <> 'goose_db_version'::regclass`,
	indexes: `SELECT CASE WHEN indisunique AND indpred IS NOT NULL THEN 'unique where' WHEN indisunique THEN 'unique' WHEN indpred IS NOT NULL THEN 'index where' ELSE 'index' END, indrelid::regclass, ` + fmt.Sprintf(keyColumns, "indkey", "indrelid") + `
		FROM pg_index JOIN pg_class c ON c.oid = indrelid WHERE NOT indisprimary AND c.relnamespace = current_schema()::regnamespace`,
	foreign: `SELECT conrelid::regclass, ` + fmt.Sprintf(keyColumns, "conkey", "conrelid") + `, confrelid::regclass, ` + fmt.Sprintf(keyColumns, "confkey", "confrelid") + `
		FROM pg_constraint WHERE contype = 'f' AND connamespace = current_schema()::regnamespace`,
}
