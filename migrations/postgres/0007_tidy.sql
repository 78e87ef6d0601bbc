-- +goose Up
-- What a room's record rests on is looked up every two minutes, over a week of what grows for years.
CREATE INDEX messages_place ON messages (team_id, place, sent_at);

-- +goose Down
DROP INDEX messages_place;
