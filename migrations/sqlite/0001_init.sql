-- +goose Up
-- Clinical content by hash of the exact file: an episode keeps the one it began with. embedded marks
-- what came with the program: teams on it move on when the program brings a newer one.
CREATE TABLE protocols (
  hash     TEXT NOT NULL PRIMARY KEY,
  name     TEXT NOT NULL,
  body     TEXT NOT NULL,
  embedded INTEGER NOT NULL,
  added_at TEXT NOT NULL
) STRICT;

-- One row per chat server.
CREATE TABLE teams (
  id            INTEGER PRIMARY KEY AUTOINCREMENT,
  key           TEXT NOT NULL UNIQUE,
  name          TEXT NOT NULL,
  zone          TEXT NOT NULL,
  report_at     TEXT NOT NULL,
  strict_minors INTEGER NOT NULL,
  protocol_hash TEXT NOT NULL REFERENCES protocols (hash),
  created_at    TEXT NOT NULL
) STRICT;

-- The squad. A shirt is unique in a team while its wearer is active. The row with shirt 0 is nobody: the
-- team's own entries hang on it.
CREATE TABLE athletes (
  id          INTEGER PRIMARY KEY AUTOINCREMENT,
  team_id     INTEGER NOT NULL REFERENCES teams (id),
  shirt       INTEGER NOT NULL CHECK (shirt BETWEEN 0 AND 999),
  name        TEXT NOT NULL,
  nick        TEXT NOT NULL DEFAULT '',
  name_folded TEXT NOT NULL,
  nick_folded TEXT NOT NULL DEFAULT '',
  position    TEXT NOT NULL DEFAULT '',
  sex         TEXT NOT NULL DEFAULT '',
  born        TEXT NOT NULL DEFAULT '',
  leg_cm      REAL NOT NULL DEFAULT 0,
  active      INTEGER NOT NULL,
  created_at  TEXT NOT NULL,
  UNIQUE (team_id, id),
  CHECK (shirt > 0 OR active IS FALSE)
) STRICT;
CREATE UNIQUE INDEX athletes_shirt ON athletes (team_id, shirt) WHERE active IS TRUE;
CREATE UNIQUE INDEX athletes_squad ON athletes (team_id) WHERE shirt = 0;

-- Whoever wrote to the bot. Roles are as last seen, for the audit; each message is judged by its own.
CREATE TABLE members (
  id         INTEGER PRIMARY KEY AUTOINCREMENT,
  team_id    INTEGER NOT NULL REFERENCES teams (id),
  key        TEXT NOT NULL,
  roles      TEXT NOT NULL DEFAULT '',
  athlete_id INTEGER,
  created_at TEXT NOT NULL,
  UNIQUE (team_id, key),
  UNIQUE (team_id, id),
  FOREIGN KEY (team_id, athlete_id) REFERENCES athletes (team_id, id)
) STRICT;

-- The row that is locked first; seq orders the athlete's entries, digest is the head of their chain.
CREATE TABLE athlete_state (
  team_id    INTEGER NOT NULL,
  athlete_id INTEGER NOT NULL,
  seq        INTEGER NOT NULL DEFAULT 0,
  digest     TEXT NOT NULL DEFAULT '',
  PRIMARY KEY (team_id, athlete_id),
  FOREIGN KEY (team_id, athlete_id) REFERENCES athletes (team_id, id)
) STRICT;

-- What a message was, for edits and deletes; never its text.
CREATE TABLE messages (
  team_id    INTEGER NOT NULL,
  key        TEXT NOT NULL,
  author_id  INTEGER NOT NULL,
  place      TEXT NOT NULL,
  sent_at    TEXT NOT NULL,
  edited_at  TEXT,
  deleted_at TEXT,
  settled_at TEXT,
  lines      INTEGER NOT NULL DEFAULT 0,
  PRIMARY KEY (team_id, key),
  FOREIGN KEY (team_id, author_id) REFERENCES members (team_id, id)
) STRICT;

-- The log. Appended to, never rewritten: an undo sets voided_at, an edit superseded_at. commitment
-- hashes this entry with its salt, chain hashes that with the entry before: what was logged can be
-- shown to be unchanged even after an erasure removes body and salt.
CREATE TABLE entries (
  id            INTEGER PRIMARY KEY AUTOINCREMENT,
  team_id       INTEGER NOT NULL,
  athlete_id    INTEGER NOT NULL,
  seq           INTEGER NOT NULL,
  first_seq     INTEGER NOT NULL DEFAULT 0,
  episode       INTEGER NOT NULL DEFAULT 0,
  kind          TEXT NOT NULL,
  version       INTEGER NOT NULL,
  body          TEXT NOT NULL,
  happened_at   TEXT NOT NULL,
  logged_at     TEXT NOT NULL,
  author_id     INTEGER,
  source        TEXT NOT NULL,
  source_line   INTEGER NOT NULL DEFAULT 0,
  voided_at     TEXT,
  voided_by     INTEGER,
  superseded_at TEXT,
  salt          TEXT NOT NULL,
  commitment    TEXT NOT NULL,
  chain         TEXT NOT NULL,
  UNIQUE (athlete_id, seq),
  UNIQUE (team_id, id),
  FOREIGN KEY (team_id, athlete_id) REFERENCES athletes (team_id, id),
  FOREIGN KEY (team_id, author_id) REFERENCES members (team_id, id),
  FOREIGN KEY (team_id, voided_by) REFERENCES members (team_id, id)
) STRICT;
CREATE INDEX entries_source ON entries (team_id, source);
CREATE INDEX entries_author ON entries (team_id, author_id, logged_at);

-- Trials as plain numbers, for charts, baselines and anyone with SQL.
CREATE TABLE measurements (
  team_id     INTEGER NOT NULL,
  entry_id    INTEGER NOT NULL,
  athlete_id  INTEGER NOT NULL,
  test        TEXT NOT NULL,
  side        TEXT NOT NULL DEFAULT '',
  trial       INTEGER NOT NULL,
  value       REAL,
  failed      INTEGER NOT NULL,
  capped      INTEGER NOT NULL,
  choice      TEXT NOT NULL DEFAULT '',
  happened_at TEXT NOT NULL,
  PRIMARY KEY (entry_id, trial),
  FOREIGN KEY (team_id, entry_id) REFERENCES entries (team_id, id),
  FOREIGN KEY (team_id, athlete_id) REFERENCES athletes (team_id, id)
) STRICT;
CREATE INDEX measurements_test ON measurements (team_id, athlete_id, test, side);

-- A decision keeps what it rested on: the protocol, the seq it saw and the evidence as it stood.
CREATE TABLE decisions (
  team_id       INTEGER NOT NULL,
  entry_id      INTEGER NOT NULL,
  athlete_id    INTEGER NOT NULL,
  action        TEXT NOT NULL,
  from_stage    TEXT NOT NULL,
  to_stage      TEXT NOT NULL,
  protocol_hash TEXT NOT NULL REFERENCES protocols (hash),
  seen_seq      INTEGER NOT NULL,
  evidence      TEXT NOT NULL,
  PRIMARY KEY (entry_id),
  FOREIGN KEY (team_id, entry_id) REFERENCES entries (team_id, id),
  FOREIGN KEY (team_id, athlete_id) REFERENCES athletes (team_id, id)
) STRICT;

-- Every event handled, once. No team's data in it.
CREATE TABLE inbox (
  event_key  TEXT NOT NULL PRIMARY KEY,
  claimed_at TEXT NOT NULL
) STRICT;

-- Buttons that wait to be pressed. The buttons of one message share a group: pressing one uses all.
CREATE TABLE pending (
  token      TEXT NOT NULL PRIMARY KEY,
  team_id    INTEGER NOT NULL REFERENCES teams (id),
  group_key  TEXT NOT NULL,
  label      TEXT NOT NULL,
  line       TEXT NOT NULL,
  confirmed  INTEGER NOT NULL,
  strict     INTEGER NOT NULL,
  place      TEXT NOT NULL,
  source     TEXT NOT NULL,
  source_line INTEGER NOT NULL,
  athlete_id INTEGER,
  seq        INTEGER NOT NULL DEFAULT 0,
  asked_of   INTEGER NOT NULL,
  asked_at   TEXT NOT NULL,
  expires_at TEXT NOT NULL,
  used_at    TEXT,
  FOREIGN KEY (team_id, athlete_id) REFERENCES athletes (team_id, id),
  FOREIGN KEY (team_id, asked_of) REFERENCES members (team_id, id)
) STRICT;
CREATE INDEX pending_group ON pending (team_id, group_key);

-- Where messages go. A process claims a whole destination and drains it in order.
CREATE TABLE destinations (
  id          INTEGER PRIMARY KEY AUTOINCREMENT,
  team_id     INTEGER NOT NULL REFERENCES teams (id),
  key         TEXT NOT NULL,
  lease_by    TEXT NOT NULL DEFAULT '',
  lease_until TEXT,
  fence       INTEGER NOT NULL DEFAULT 0,
  UNIQUE (team_id, key),
  UNIQUE (team_id, id)
) STRICT;

-- What is to be said, written with the fact that caused it. The text lives in outbox_bodies.
CREATE TABLE outbox (
  id             INTEGER PRIMARY KEY AUTOINCREMENT,
  team_id        INTEGER NOT NULL,
  destination_id INTEGER NOT NULL,
  kind           TEXT NOT NULL,
  dedupe_key     TEXT NOT NULL UNIQUE,
  due_at         TEXT NOT NULL,
  expires_at     TEXT,
  lease_by       TEXT NOT NULL DEFAULT '',
  lease_until    TEXT,
  attempts       INTEGER NOT NULL DEFAULT 0,
  sent_at        TEXT,
  sent_id        TEXT NOT NULL DEFAULT '',
  dead_at        TEXT,
  last_error     TEXT NOT NULL DEFAULT '',
  UNIQUE (team_id, id),
  FOREIGN KEY (team_id, destination_id) REFERENCES destinations (team_id, id)
) STRICT;
CREATE INDEX outbox_due ON outbox (due_at) WHERE sent_at IS NULL AND dead_at IS NULL;

CREATE TABLE outbox_bodies (
  team_id   INTEGER NOT NULL,
  outbox_id INTEGER NOT NULL PRIMARY KEY,
  body      TEXT NOT NULL,
  FOREIGN KEY (team_id, outbox_id) REFERENCES outbox (team_id, id)
) STRICT;

-- A scheduled thing happens once per team and local day, whatever clocks and restarts do.
CREATE TABLE occurrences (
  what       TEXT NOT NULL,
  team_id    INTEGER NOT NULL REFERENCES teams (id),
  local_date TEXT NOT NULL,
  outcome    TEXT NOT NULL,
  at         TEXT NOT NULL,
  PRIMARY KEY (what, team_id, local_date)
) STRICT;

-- What coaches were told of each athlete each morning.
CREATE TABLE told (
  team_id    INTEGER NOT NULL,
  athlete_id INTEGER NOT NULL,
  local_date TEXT NOT NULL,
  level      TEXT NOT NULL,
  detail     TEXT NOT NULL,
  PRIMARY KEY (team_id, athlete_id, local_date),
  FOREIGN KEY (team_id, athlete_id) REFERENCES athletes (team_id, id)
) STRICT;

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
