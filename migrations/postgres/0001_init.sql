-- +goose Up
-- Clinical content by hash of the exact file: an episode keeps the one it began with. embedded marks
-- what came with the program: teams on it move on when the program brings a newer one.
CREATE TABLE protocols (
  hash     TEXT NOT NULL PRIMARY KEY,
  name     TEXT NOT NULL,
  body     TEXT NOT NULL,
  embedded BOOLEAN NOT NULL,
  added_at TIMESTAMPTZ NOT NULL
);

-- One row per chat server.
CREATE TABLE teams (
  id            BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
  key           TEXT NOT NULL UNIQUE,
  name          TEXT NOT NULL,
  zone          TEXT NOT NULL,
  report_at     TEXT NOT NULL,
  strict_minors BOOLEAN NOT NULL,
  protocol_hash TEXT NOT NULL REFERENCES protocols (hash),
  created_at    TIMESTAMPTZ NOT NULL
);

-- The squad. A shirt is unique in a team while its wearer is active. The row with shirt 0 is nobody: the
-- team's own entries hang on it.
CREATE TABLE athletes (
  id          BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
  team_id     BIGINT NOT NULL REFERENCES teams (id),
  shirt       BIGINT NOT NULL CHECK (shirt BETWEEN 0 AND 999),
  name        TEXT NOT NULL,
  nick        TEXT NOT NULL DEFAULT '',
  name_folded TEXT NOT NULL,
  nick_folded TEXT NOT NULL DEFAULT '',
  position    TEXT NOT NULL DEFAULT '',
  sex         TEXT NOT NULL DEFAULT '',
  born        TEXT NOT NULL DEFAULT '',
  leg_cm      DOUBLE PRECISION NOT NULL DEFAULT 0,
  active      BOOLEAN NOT NULL,
  created_at  TIMESTAMPTZ NOT NULL,
  UNIQUE (team_id, id),
  CHECK (shirt > 0 OR active IS FALSE)
);
CREATE UNIQUE INDEX athletes_shirt ON athletes (team_id, shirt) WHERE active IS TRUE;
CREATE UNIQUE INDEX athletes_squad ON athletes (team_id) WHERE shirt = 0;

-- Whoever wrote to the bot. Roles are as last seen, for the audit; each message is judged by its own.
CREATE TABLE members (
  id         BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
  team_id    BIGINT NOT NULL REFERENCES teams (id),
  key        TEXT NOT NULL,
  roles      TEXT NOT NULL DEFAULT '',
  athlete_id BIGINT,
  created_at TIMESTAMPTZ NOT NULL,
  UNIQUE (team_id, key),
  UNIQUE (team_id, id),
  FOREIGN KEY (team_id, athlete_id) REFERENCES athletes (team_id, id)
);

-- The row that is locked first; seq orders the athlete's entries, digest is the head of their chain.
CREATE TABLE athlete_state (
  team_id    BIGINT NOT NULL,
  athlete_id BIGINT NOT NULL,
  seq        BIGINT NOT NULL DEFAULT 0,
  digest     TEXT NOT NULL DEFAULT '',
  PRIMARY KEY (team_id, athlete_id),
  FOREIGN KEY (team_id, athlete_id) REFERENCES athletes (team_id, id)
);

-- What a message was, for edits and deletes; never its text.
CREATE TABLE messages (
  team_id    BIGINT NOT NULL,
  key        TEXT NOT NULL,
  author_id  BIGINT NOT NULL,
  place      TEXT NOT NULL,
  sent_at    TIMESTAMPTZ NOT NULL,
  edited_at  TIMESTAMPTZ,
  deleted_at TIMESTAMPTZ,
  settled_at TIMESTAMPTZ,
  lines      BIGINT NOT NULL DEFAULT 0,
  PRIMARY KEY (team_id, key),
  FOREIGN KEY (team_id, author_id) REFERENCES members (team_id, id)
);

-- The log. Appended to, never rewritten: an undo sets voided_at, an edit superseded_at. commitment
-- hashes this entry with its salt, chain hashes that with the entry before: what was logged can be
-- shown to be unchanged even after an erasure removes body and salt.
CREATE TABLE entries (
  id            BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
  team_id       BIGINT NOT NULL,
  athlete_id    BIGINT NOT NULL,
  seq           BIGINT NOT NULL,
  first_seq     BIGINT NOT NULL DEFAULT 0,
  episode       BIGINT NOT NULL DEFAULT 0,
  kind          TEXT NOT NULL,
  version       BIGINT NOT NULL,
  body          TEXT NOT NULL,
  happened_at   TIMESTAMPTZ NOT NULL,
  logged_at     TIMESTAMPTZ NOT NULL,
  author_id     BIGINT,
  source        TEXT NOT NULL,
  source_line   BIGINT NOT NULL DEFAULT 0,
  voided_at     TIMESTAMPTZ,
  voided_by     BIGINT,
  superseded_at TIMESTAMPTZ,
  salt          TEXT NOT NULL,
  commitment    TEXT NOT NULL,
  chain         TEXT NOT NULL,
  UNIQUE (athlete_id, seq),
  UNIQUE (team_id, id),
  FOREIGN KEY (team_id, athlete_id) REFERENCES athletes (team_id, id),
  FOREIGN KEY (team_id, author_id) REFERENCES members (team_id, id),
  FOREIGN KEY (team_id, voided_by) REFERENCES members (team_id, id)
);
CREATE INDEX entries_source ON entries (team_id, source);
CREATE INDEX entries_author ON entries (team_id, author_id, logged_at);

-- Trials as plain numbers, for charts, baselines and anyone with SQL.
CREATE TABLE measurements (
  team_id     BIGINT NOT NULL,
  entry_id    BIGINT NOT NULL,
  athlete_id  BIGINT NOT NULL,
  test        TEXT NOT NULL,
  side        TEXT NOT NULL DEFAULT '',
  trial       BIGINT NOT NULL,
  value       DOUBLE PRECISION,
  failed      BOOLEAN NOT NULL,
  capped      BOOLEAN NOT NULL,
  choice      TEXT NOT NULL DEFAULT '',
  happened_at TIMESTAMPTZ NOT NULL,
  PRIMARY KEY (entry_id, trial),
  FOREIGN KEY (team_id, entry_id) REFERENCES entries (team_id, id),
  FOREIGN KEY (team_id, athlete_id) REFERENCES athletes (team_id, id)
);
CREATE INDEX measurements_test ON measurements (team_id, athlete_id, test, side);

-- A decision keeps what it rested on: the protocol, the seq it saw and the evidence as it stood.
CREATE TABLE decisions (
  team_id       BIGINT NOT NULL,
  entry_id      BIGINT NOT NULL,
  athlete_id    BIGINT NOT NULL,
  action        TEXT NOT NULL,
  from_stage    TEXT NOT NULL,
  to_stage      TEXT NOT NULL,
  protocol_hash TEXT NOT NULL REFERENCES protocols (hash),
  seen_seq      BIGINT NOT NULL,
  evidence      TEXT NOT NULL,
  PRIMARY KEY (entry_id),
  FOREIGN KEY (team_id, entry_id) REFERENCES entries (team_id, id),
  FOREIGN KEY (team_id, athlete_id) REFERENCES athletes (team_id, id)
);

-- Every event handled, once. No team's data in it.
CREATE TABLE inbox (
  event_key  TEXT NOT NULL PRIMARY KEY,
  claimed_at TIMESTAMPTZ NOT NULL
);

-- Buttons that wait to be pressed. The buttons of one message share a group: pressing one uses all.
CREATE TABLE pending (
  token      TEXT NOT NULL PRIMARY KEY,
  team_id    BIGINT NOT NULL REFERENCES teams (id),
  group_key  TEXT NOT NULL,
  label      TEXT NOT NULL,
  line       TEXT NOT NULL,
  confirmed  BOOLEAN NOT NULL,
  strict     BOOLEAN NOT NULL,
  place      TEXT NOT NULL,
  source     TEXT NOT NULL,
  source_line BIGINT NOT NULL,
  athlete_id BIGINT,
  seq        BIGINT NOT NULL DEFAULT 0,
  asked_of   BIGINT NOT NULL,
  asked_at   TIMESTAMPTZ NOT NULL,
  expires_at TIMESTAMPTZ NOT NULL,
  used_at    TIMESTAMPTZ,
  FOREIGN KEY (team_id, athlete_id) REFERENCES athletes (team_id, id),
  FOREIGN KEY (team_id, asked_of) REFERENCES members (team_id, id)
);
CREATE INDEX pending_group ON pending (team_id, group_key);

-- Where messages go. A process claims a whole destination and drains it in order.
CREATE TABLE destinations (
  id          BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
  team_id     BIGINT NOT NULL REFERENCES teams (id),
  key         TEXT NOT NULL,
  lease_by    TEXT NOT NULL DEFAULT '',
  lease_until TIMESTAMPTZ,
  fence       BIGINT NOT NULL DEFAULT 0,
  UNIQUE (team_id, key),
  UNIQUE (team_id, id)
);

-- What is to be said, written with the fact that caused it. The text lives in outbox_bodies.
CREATE TABLE outbox (
  id             BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
  team_id        BIGINT NOT NULL,
  destination_id BIGINT NOT NULL,
  kind           TEXT NOT NULL,
  dedupe_key     TEXT NOT NULL UNIQUE,
  due_at         TIMESTAMPTZ NOT NULL,
  expires_at     TIMESTAMPTZ,
  lease_by       TEXT NOT NULL DEFAULT '',
  lease_until    TIMESTAMPTZ,
  attempts       BIGINT NOT NULL DEFAULT 0,
  sent_at        TIMESTAMPTZ,
  sent_id        TEXT NOT NULL DEFAULT '',
  dead_at        TIMESTAMPTZ,
  last_error     TEXT NOT NULL DEFAULT '',
  UNIQUE (team_id, id),
  FOREIGN KEY (team_id, destination_id) REFERENCES destinations (team_id, id)
);
CREATE INDEX outbox_due ON outbox (due_at) WHERE sent_at IS NULL AND dead_at IS NULL;

CREATE TABLE outbox_bodies (
  team_id   BIGINT NOT NULL,
  outbox_id BIGINT NOT NULL PRIMARY KEY,
  body      TEXT NOT NULL,
  FOREIGN KEY (team_id, outbox_id) REFERENCES outbox (team_id, id)
);

-- A scheduled thing happens once per team and local day, whatever clocks and restarts do.
CREATE TABLE occurrences (
  what       TEXT NOT NULL,
  team_id    BIGINT NOT NULL REFERENCES teams (id),
  local_date TEXT NOT NULL,
  outcome    TEXT NOT NULL,
  at         TIMESTAMPTZ NOT NULL,
  PRIMARY KEY (what, team_id, local_date)
);

-- What coaches were told of each athlete each morning.
CREATE TABLE told (
  team_id    BIGINT NOT NULL,
  athlete_id BIGINT NOT NULL,
  local_date TEXT NOT NULL,
  level      TEXT NOT NULL,
  detail     TEXT NOT NULL,
  PRIMARY KEY (team_id, athlete_id, local_date),
  FOREIGN KEY (team_id, athlete_id) REFERENCES athletes (team_id, id)
);

-- Two roles: the owner migrates, the application reads and writes rows of one team at a time. Row
-- security binds the application role (it never binds a table's owner): a transaction that has not
-- said which team it works for sees nothing.
-- +goose StatementBegin
DO $$
BEGIN
  IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'footing_app') THEN
    CREATE ROLE footing_app NOLOGIN;
    GRANT footing_app TO CURRENT_USER;
  END IF;
EXCEPTION
  WHEN duplicate_object OR unique_violation THEN NULL;
END
$$;
-- +goose StatementEnd
-- +goose StatementBegin
DO $$
BEGIN
  EXECUTE format('GRANT USAGE ON SCHEMA %I TO footing_app', current_schema());
  EXECUTE format('GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA %I TO footing_app', current_schema());
  EXECUTE format('GRANT USAGE ON ALL SEQUENCES IN SCHEMA %I TO footing_app', current_schema());
END
$$;
-- +goose StatementEnd
REVOKE INSERT, UPDATE, DELETE ON goose_db_version FROM footing_app;

ALTER TABLE athletes ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_team ON athletes USING (team_id = NULLIF(current_setting('footing.team', true), '')::BIGINT);
ALTER TABLE members ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_team ON members USING (team_id = NULLIF(current_setting('footing.team', true), '')::BIGINT);
ALTER TABLE athlete_state ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_team ON athlete_state USING (team_id = NULLIF(current_setting('footing.team', true), '')::BIGINT);
ALTER TABLE messages ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_team ON messages USING (team_id = NULLIF(current_setting('footing.team', true), '')::BIGINT);
ALTER TABLE entries ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_team ON entries USING (team_id = NULLIF(current_setting('footing.team', true), '')::BIGINT);
ALTER TABLE measurements ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_team ON measurements USING (team_id = NULLIF(current_setting('footing.team', true), '')::BIGINT);
ALTER TABLE decisions ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_team ON decisions USING (team_id = NULLIF(current_setting('footing.team', true), '')::BIGINT);
ALTER TABLE pending ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_team ON pending USING (team_id = NULLIF(current_setting('footing.team', true), '')::BIGINT);
ALTER TABLE outbox_bodies ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_team ON outbox_bodies USING (team_id = NULLIF(current_setting('footing.team', true), '')::BIGINT);
ALTER TABLE told ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_team ON told USING (team_id = NULLIF(current_setting('footing.team', true), '')::BIGINT);

-- +goose Down
DROP TABLE told;
DROP TABLE occurrences;
DROP TABLE outbox_bodies;
DROP TABLE outbox;
DROP TABLE destinations;
DROP TABLE pending;
DROP TABLE inbox;
DROP TABLE decisions;
DROP TABLE measurements;
DROP TABLE entries;
DROP TABLE messages;
DROP TABLE athlete_state;
DROP TABLE members;
DROP TABLE athletes;
DROP TABLE teams;
DROP TABLE protocols;
