-- +goose Up
-- From when on the report time is as it stands: an earlier time of the same day is not made up for.
-- Empty means: since the team was made.
ALTER TABLE teams ADD COLUMN report_from TIMESTAMPTZ;

-- What whoever wrote is called in the chat, as last seen.
ALTER TABLE members ADD COLUMN name TEXT NOT NULL DEFAULT '';

-- A button that anyone may press, any number of times.
ALTER TABLE pending ADD COLUMN anyone BOOLEAN NOT NULL DEFAULT false;

-- +goose Down
ALTER TABLE pending DROP COLUMN anyone;
ALTER TABLE members DROP COLUMN name;
ALTER TABLE teams DROP COLUMN report_from;
