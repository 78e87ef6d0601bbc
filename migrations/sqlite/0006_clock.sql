-- +goose Up
-- When each team's schedule was last looked at, and when to look again: what changes it puts that to now.
-- Not in teams: whoever records something writes here. No health data.
CREATE TABLE looks (
  team_id   INTEGER NOT NULL PRIMARY KEY REFERENCES teams (id),
  looked_at TEXT NOT NULL,
  next_at   TEXT NOT NULL
) STRICT;
CREATE INDEX looks_next ON looks (next_at);
INSERT INTO looks (team_id, looked_at, next_at)
  SELECT id, COALESCE((SELECT max(o.at) FROM occurrences o WHERE o.team_id = teams.id), report_from, created_at), created_at FROM teams;
CREATE INDEX occurrences_day ON occurrences (team_id, local_date);

-- +goose Down
DROP INDEX occurrences_day;
DROP TABLE looks;
