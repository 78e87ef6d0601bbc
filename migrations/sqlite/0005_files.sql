-- The file that came with a line, for the button that carries the line out: a calendar is asked about
-- before it is taken. It goes when the question is answered or expires.

-- +goose Up
ALTER TABLE pending ADD COLUMN file TEXT NOT NULL DEFAULT '';

-- +goose Down
ALTER TABLE pending DROP COLUMN file;
