// Package migrations holds the schema, one set of files per engine. The two must describe the same
// tables and columns; a test compares them.
package migrations

import "embed"

// SQLite is the schema for SQLite, Postgres that for PostgreSQL.
var (
	//go:embed sqlite/*.sql
	SQLite embed.FS
	//go:embed postgres/*.sql
	Postgres embed.FS
)
