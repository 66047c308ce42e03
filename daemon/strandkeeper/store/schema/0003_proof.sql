-- The ledger of cables and strands, what people measured, work on links, who looks on live.
-- Derived from entries by the daemon; ids are those of the entries. end: 0 A, 1 B.

CREATE TABLE cable (
  name TEXT PRIMARY KEY,
  strands INTEGER NOT NULL CHECK (strands BETWEEN 1 AND 9999),
  length_m REAL CHECK (length_m >= 0),
  fibre TEXT NOT NULL,
  a TEXT NOT NULL,
  b TEXT NOT NULL,
  note TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE strand (
  cable TEXT NOT NULL REFERENCES cable (name),
  number INTEGER NOT NULL CHECK (number >= 1),
  label TEXT NOT NULL,
  use TEXT NOT NULL CHECK (use IN ('in-use', 'spare', 'broken')),
  link TEXT,
  direction TEXT CHECK (direction IN ('ab', 'ba')),
  slack_a_m REAL CHECK (slack_a_m >= 0),
  slack_b_m REAL CHECK (slack_b_m >= 0),
  attempts_a INTEGER NOT NULL CHECK (attempts_a >= 0),
  attempts_b INTEGER NOT NULL CHECK (attempts_b >= 0),
  tested_ms INTEGER,
  tested_loss_mdb INTEGER,
  note TEXT NOT NULL,
  PRIMARY KEY (cable, number),
  CHECK (link IS NULL OR use = 'in-use'),
  CHECK (direction IS NULL OR link IS NOT NULL)
) STRICT, WITHOUT ROWID;

CREATE TABLE meter_reading (
  id INTEGER PRIMARY KEY,
  at_ms INTEGER NOT NULL,
  who TEXT NOT NULL,
  kind TEXT NOT NULL CHECK (kind IN ('loss', 'power')),
  source TEXT NOT NULL,
  wavelength_nm INTEGER NOT NULL CHECK (wavelength_nm > 0),
  link TEXT,
  direction TEXT CHECK (direction IN ('ab', 'ba')),
  end INTEGER CHECK (end IN (0, 1)),
  cable TEXT,
  strand INTEGER,
  cords INTEGER CHECK (cords IN (1, 2, 3)),
  reference_mdbm INTEGER,
  reading_mdbm INTEGER NOT NULL,
  loss_mdb INTEGER,
  limit_mdb INTEGER,
  verdict TEXT,
  reported_mdbm INTEGER,
  uncertainty_mdb INTEGER NOT NULL,
  note TEXT NOT NULL,
  CHECK (kind <> 'loss' OR (cords IS NOT NULL AND reference_mdbm IS NOT NULL))
) STRICT;

CREATE INDEX meter_reading_by_link ON meter_reading (link, at_ms);

CREATE TABLE anchor (
  link TEXT NOT NULL,
  direction TEXT NOT NULL CHECK (direction IN ('ab', 'ba')),
  at_ms INTEGER NOT NULL,
  correction_mdb INTEGER NOT NULL,
  module_id TEXT,
  PRIMARY KEY (link, direction)
) STRICT, WITHOUT ROWID;

CREATE TABLE bench (
  link TEXT NOT NULL,
  direction TEXT NOT NULL CHECK (direction IN ('ab', 'ba')),
  at_ms INTEGER NOT NULL,
  difference_mdb INTEGER NOT NULL,
  module_a TEXT,
  module_b TEXT,
  PRIMARY KEY (link, direction)
) STRICT, WITHOUT ROWID;

-- The work itself in columns; what was measured of it as JSON (model/rework_json).
CREATE TABLE rework (
  id INTEGER PRIMARY KEY,
  link TEXT NOT NULL,
  started_ms INTEGER NOT NULL,
  finished_ms INTEGER CHECK (finished_ms >= started_ms),
  closed_ms INTEGER,
  cable TEXT,
  strand INTEGER,
  json TEXT NOT NULL CHECK (json_valid(json))
) STRICT;

CREATE INDEX rework_by_link ON rework (link, started_ms);
CREATE UNIQUE INDEX rework_open ON rework (link) WHERE finished_ms IS NULL;

CREATE TABLE live (
  link TEXT PRIMARY KEY,
  since_ms INTEGER NOT NULL,
  until_ms INTEGER NOT NULL,
  interval_ms INTEGER NOT NULL CHECK (interval_ms > 0),
  refresh_ms INTEGER,
  why TEXT NOT NULL
) STRICT, WITHOUT ROWID;
