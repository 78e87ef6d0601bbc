-- +goose Up
-- Delivery. A process holds a whole destination, never a single message. urgency orders what is claimed
-- first (0 is most urgent); due_at is when it may next be tried, written_at when it was first due,
-- tried_at when it may first have reached the chat side, told_at when somebody was told that it is dead.
DROP INDEX outbox_due;
ALTER TABLE outbox DROP COLUMN lease_by;
ALTER TABLE outbox DROP COLUMN lease_until;
ALTER TABLE outbox ADD COLUMN urgency INTEGER NOT NULL DEFAULT 2;
ALTER TABLE outbox ADD COLUMN written_at TEXT;
ALTER TABLE outbox ADD COLUMN tried_at TEXT;
ALTER TABLE outbox ADD COLUMN told_at TEXT;
UPDATE outbox SET written_at = due_at, told_at = dead_at,
  urgency = CASE kind WHEN 'alert' THEN 0 WHEN 'reply' THEN 1 WHEN 'report' THEN 3 ELSE 2 END;
CREATE INDEX outbox_due ON outbox (urgency, due_at, id) WHERE sent_at IS NULL AND dead_at IS NULL;
CREATE INDEX outbox_queue ON outbox (destination_id, id) WHERE sent_at IS NULL AND dead_at IS NULL;
CREATE INDEX outbox_untold ON outbox (team_id, dead_at) WHERE dead_at IS NOT NULL AND told_at IS NULL;

-- +goose Down
DROP INDEX outbox_untold;
DROP INDEX outbox_queue;
DROP INDEX outbox_due;
ALTER TABLE outbox DROP COLUMN told_at;
ALTER TABLE outbox DROP COLUMN tried_at;
ALTER TABLE outbox DROP COLUMN written_at;
ALTER TABLE outbox DROP COLUMN urgency;
ALTER TABLE outbox ADD COLUMN lease_by TEXT NOT NULL DEFAULT '';
ALTER TABLE outbox ADD COLUMN lease_until TEXT;
CREATE INDEX outbox_due ON outbox (due_at) WHERE sent_at IS NULL AND dead_at IS NULL;
