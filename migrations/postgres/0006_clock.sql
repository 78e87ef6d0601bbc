-- +goose Up
-- When each team's schedule is to be looked at. planned_at is when the last look found that something comes
-- next; next_at is the same, or earlier where something was recorded since that may change it: what then turns
-- out to have been due before is not made up for. Not in teams: whoever records something writes here.
CREATE TABLE looks (
  team_id    BIGINT NOT NULL PRIMARY KEY REFERENCES teams (id),
  planned_at TIMESTAMPTZ NOT NULL,
  next_at    TIMESTAMPTZ NOT NULL
);
CREATE INDEX looks_next ON looks (next_at);
INSERT INTO looks (team_id, planned_at, next_at)
  SELECT id, COALESCE((SELECT max(o.at) FROM occurrences o WHERE o.team_id = teams.id), report_from, created_at), created_at FROM teams;
CREATE INDEX occurrences_day ON occurrences (team_id, local_date);
-- +goose StatementBegin
DO $$ BEGIN
  EXECUTE format('GRANT SELECT, INSERT, UPDATE, DELETE ON looks TO footing_app');
END $$;
-- +goose StatementEnd

-- +goose Down
DROP INDEX occurrences_day;
DROP TABLE looks;
