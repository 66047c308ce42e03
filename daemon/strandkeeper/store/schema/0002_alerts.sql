-- What the owner must hear of, every step of it, and the messages on their way. Times are record
-- time in ms. `finding` is the newest sight of it as JSON (model/verdict_json).

CREATE TABLE alert (
  number INTEGER PRIMARY KEY,
  link TEXT NOT NULL,       -- empty: the watch itself
  direction TEXT NOT NULL CHECK (direction IN ('', 'ab', 'ba')),
  end TEXT NOT NULL CHECK (end IN ('', 'A', 'B')),
  kind TEXT NOT NULL,
  state TEXT NOT NULL CHECK (state IN ('pending', 'firing', 'acknowledged', 'muted', 'cleared')),
  severity INTEGER NOT NULL,
  began_ms INTEGER NOT NULL,
  changed_ms INTEGER NOT NULL,
  held_from_ms INTEGER NOT NULL,
  quiet_ms INTEGER,
  told INTEGER NOT NULL CHECK (told >= 0),
  told_severity INTEGER,
  lasting INTEGER NOT NULL CHECK (lasting IN (0, 1)),
  until_ms INTEGER,
  who TEXT NOT NULL,
  finding TEXT NOT NULL CHECK (json_valid(finding))
) STRICT;

CREATE UNIQUE INDEX alert_open ON alert (link, direction, end, kind) WHERE state <> 'cleared';

CREATE TABLE alert_transition (
  id INTEGER PRIMARY KEY,
  alert INTEGER NOT NULL REFERENCES alert (number),
  at_ms INTEGER NOT NULL,
  before TEXT,              -- NULL: it is new
  event TEXT NOT NULL,
  after TEXT NOT NULL,
  who TEXT NOT NULL
) STRICT;

CREATE INDEX alert_transition_of ON alert_transition (alert, id);

-- A link whose alerts are silenced for a time: by a person, or by open work on it.
CREATE TABLE silence (
  link TEXT PRIMARY KEY,
  from_ms INTEGER NOT NULL,
  until_ms INTEGER NOT NULL,
  who TEXT NOT NULL,
  why TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE outbox (
  id INTEGER PRIMARY KEY,   -- in the order in which messages were made
  target TEXT NOT NULL,
  key TEXT NOT NULL,        -- the same however often it is sent
  message TEXT NOT NULL CHECK (json_valid(message)),
  not_before_ms INTEGER NOT NULL,
  next_ms INTEGER NOT NULL,
  attempts INTEGER NOT NULL,
  state TEXT NOT NULL CHECK (state IN ('waiting', 'delivered', 'given-up')),
  done_ms INTEGER,
  error TEXT NOT NULL,
  UNIQUE (key, target)
) STRICT;

CREATE INDEX outbox_waiting ON outbox (id) WHERE state = 'waiting';
