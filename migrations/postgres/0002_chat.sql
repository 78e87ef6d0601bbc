-- +goose Up
-- How a chat server is set up: roles and channels by the chat side's ids, roles parted by spaces. Until
-- ready_at is set nobody but its owner or a manager can do anything. room_fault says why the medical
-- channel is not private, in the words shown to its readers.
ALTER TABLE teams ADD COLUMN medical_roles   TEXT NOT NULL DEFAULT '';
ALTER TABLE teams ADD COLUMN coach_roles     TEXT NOT NULL DEFAULT '';
ALTER TABLE teams ADD COLUMN medical_channel TEXT NOT NULL DEFAULT '';
ALTER TABLE teams ADD COLUMN staff_channel   TEXT NOT NULL DEFAULT '';
ALTER TABLE teams ADD COLUMN sport           TEXT NOT NULL DEFAULT '';
ALTER TABLE teams ADD COLUMN set_up_by       TEXT NOT NULL DEFAULT '';
ALTER TABLE teams ADD COLUMN ready_at        TIMESTAMPTZ;
ALTER TABLE teams ADD COLUMN gone_at         TIMESTAMPTZ;
ALTER TABLE teams ADD COLUMN room_fault      TEXT NOT NULL DEFAULT '';

-- In which teams a chat account is linked: to find the team of a direct message. No health data.
CREATE TABLE links (
  account TEXT NOT NULL,
  team_id BIGINT NOT NULL REFERENCES teams (id),
  PRIMARY KEY (account, team_id)
);

-- A chat account's direct-message channel, kept: opening many new ones gets a bot locked out.
CREATE TABLE accounts (
  key        TEXT NOT NULL PRIMARY KEY,
  dm_channel TEXT NOT NULL DEFAULT '',
  closed_at  TIMESTAMPTZ
);

-- Up to where each channel was read back.
CREATE TABLE cursors (
  channel TEXT NOT NULL PRIMARY KEY,
  team_id BIGINT REFERENCES teams (id),
  last    TEXT NOT NULL
);

-- +goose StatementBegin
DO $$
BEGIN
  EXECUTE format('GRANT SELECT, INSERT, UPDATE, DELETE ON links, accounts, cursors TO footing_app');
END
$$;
-- +goose StatementEnd

-- +goose Down
DROP TABLE cursors;
DROP TABLE accounts;
DROP TABLE links;
ALTER TABLE teams DROP COLUMN room_fault;
ALTER TABLE teams DROP COLUMN gone_at;
ALTER TABLE teams DROP COLUMN ready_at;
ALTER TABLE teams DROP COLUMN set_up_by;
ALTER TABLE teams DROP COLUMN sport;
ALTER TABLE teams DROP COLUMN staff_channel;
ALTER TABLE teams DROP COLUMN medical_channel;
ALTER TABLE teams DROP COLUMN coach_roles;
ALTER TABLE teams DROP COLUMN medical_roles;
