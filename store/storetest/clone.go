package storetest

import (
	"fmt"
	"testing"

	"footing/store"
)

// cloned are the tables of a team that Clone copies, with what identifies a row there: %[1]d is added to ids
// for every copy, %[2]s is put behind names that the chat side gave.
var cloned = []struct{ table, columns, values string }{
	{"teams", `id, key, name, zone, report_at, strict_minors, protocol_hash, created_at, medical_roles, coach_roles, medical_channel, staff_channel, sport, set_up_by, ready_at, gone_at, room_fault, report_from`,
		`id + k * step, key || '-' || k, name, zone, report_at, strict_minors, protocol_hash, created_at, medical_roles, coach_roles, medical_channel || '-' || k, staff_channel || '-' || k, sport, set_up_by, ready_at, gone_at, room_fault, report_from`},
	{"looks", `team_id, planned_at, next_at`, `team_id + k * step, planned_at, next_at`},
	{"athletes", `id, team_id, shirt, name, nick, name_folded, nick_folded, position, sex, born, leg_cm, active, created_at`,
		`id + k * step, team_id + k * step, shirt, name, nick, name_folded, nick_folded, position, sex, born, leg_cm, active, created_at`},
	{"members", `id, team_id, key, roles, athlete_id, created_at, name`,
		`id + k * step, team_id + k * step, key || '-' || k, roles, athlete_id + k * step, created_at, name`},
	{"athlete_state", `team_id, athlete_id, seq, digest`, `team_id + k * step, athlete_id + k * step, seq, digest`},
	{"entries", `id, team_id, athlete_id, seq, first_seq, episode, kind, version, body, happened_at, logged_at, author_id, source, source_line, voided_at, voided_by, superseded_at, salt, commitment, chain`,
		`id + k * step, team_id + k * step, athlete_id + k * step, seq, first_seq, episode, kind, version, body, happened_at, logged_at, author_id + k * step, source, source_line, voided_at, voided_by + k * step, superseded_at, salt, commitment, chain`},
	{"links", `account, team_id`, `account || '-' || k, team_id + k * step`},
	{"accounts", `key, dm_channel, closed_at`, `key || '-' || k, dm_channel || '-' || k, closed_at`},
}

// Clone copies the only team of a SQLite database n times, with its squad, its log and its links, under keys
// with -1 to -n behind them. For measurements with many teams; what was sent and asked is not copied.
func Clone(t testing.TB, s *store.Store, n int) {
	t.Helper()
	if n < 1 {
		return
	}
	tx, err := s.DB().BeginTx(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = tx.Rollback() }()
	var step int64
	if err := tx.QueryRow(`SELECT max(id) + 1 FROM (SELECT id FROM entries UNION ALL SELECT id FROM athletes UNION ALL SELECT id FROM members)`).Scan(&step); err != nil {
		t.Fatal(err)
	}
	for _, c := range cloned {
		_, err := tx.Exec(fmt.Sprintf(`WITH RECURSIVE copies(k, step) AS (SELECT 1, $1 UNION ALL SELECT k + 1, step FROM copies WHERE k < $2)
			INSERT INTO %[1]s (%[2]s) SELECT %[3]s FROM %[1]s CROSS JOIN copies`, c.table, c.columns, c.values), step, n)
		if err != nil {
			t.Fatalf("copying %s: %v", c.table, err)
		}
	}
	if err := tx.Commit(); err != nil {
		t.Fatal(err)
	}
}
