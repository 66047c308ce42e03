-- The record, first release. Times are UTC epoch milliseconds of record time (store/record_time).
-- Scaled integers carry their unit: mdbm 0.001 dBm, mdb 0.001 dB, ua 0.001 mA, cc 0.01 degrees
-- Celsius, 100uv 0.0001 V, cs 0.01 s. An end's number is link.id * 2 + end (0 A, 1 B); a direction's
-- number is link.id * 2 + direction (0 A to B, 1 B to A).

CREATE TABLE meta (
  key TEXT PRIMARY KEY,
  value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE link (
  id INTEGER PRIMARY KEY CHECK (id BETWEEN 1 AND 32767),
  name TEXT NOT NULL UNIQUE
) STRICT;

CREATE TABLE module (
  id INTEGER PRIMARY KEY,
  text TEXT NOT NULL UNIQUE
) STRICT;

-- One end at one instant. Clustered by time, because rows arrive in time order: a batch touches
-- the last page only. id = time_ms * 65536 + end number.
CREATE TABLE reading (
  id INTEGER PRIMARY KEY,
  answered INTEGER NOT NULL CHECK (answered IN (0, 1)),
  rx_kind INTEGER CHECK (rx_kind IN (0, 1, 2)),  -- 0 measured, 1 no light, 2 not reported; NULL not asked
  rx_mdbm INTEGER,
  tx_kind INTEGER CHECK (tx_kind IN (0, 1, 2)),
  tx_mdbm INTEGER,
  bias_ua INTEGER,
  temp_cc INTEGER,
  vcc_100uv INTEGER,
  oper INTEGER CHECK (oper BETWEEN 1 AND 7),
  admin INTEGER CHECK (admin BETWEEN 1 AND 3),
  uptime_cs INTEGER CHECK (uptime_cs >= 0),
  last_change_cs INTEGER CHECK (last_change_cs >= 0),
  media INTEGER,
  module INTEGER REFERENCES module (id),
  in_octets INTEGER CHECK (in_octets >= 0),
  out_octets INTEGER CHECK (out_octets >= 0),
  in_frames INTEGER CHECK (in_frames >= 0),
  fcs_errors INTEGER CHECK (fcs_errors >= 0),
  symbol_errors INTEGER CHECK (symbol_errors >= 0),
  CHECK ((rx_mdbm IS NOT NULL) = (rx_kind IS 0)),
  CHECK ((tx_mdbm IS NOT NULL) = (tx_kind IS 0)),
  CHECK ((rx_kind IS NULL) = (tx_kind IS NULL))
) STRICT;

-- Summaries of one end over five minutes; sums and means in dB terms. Counters are the sum of the
-- known differences, and beside it in how many answered rows the difference was not known.
-- id = start_ms * 65536 + end number, clustered by time like the rows that it is made from.
CREATE TABLE five_minutes (
  id INTEGER PRIMARY KEY,
  n INTEGER NOT NULL,
  silent INTEGER NOT NULL,
  rx_n INTEGER NOT NULL, rx_no_light INTEGER NOT NULL, rx_not_reported INTEGER NOT NULL,
  rx_min_mdbm INTEGER, rx_max_mdbm INTEGER, rx_sum_mdbm INTEGER,
  tx_n INTEGER NOT NULL, tx_no_light INTEGER NOT NULL, tx_not_reported INTEGER NOT NULL,
  tx_min_mdbm INTEGER, tx_max_mdbm INTEGER, tx_sum_mdbm INTEGER,
  bias_n INTEGER NOT NULL, bias_min_ua INTEGER, bias_max_ua INTEGER, bias_sum_ua INTEGER,
  temp_n INTEGER NOT NULL, temp_min_cc INTEGER, temp_max_cc INTEGER, temp_sum_cc INTEGER,
  vcc_n INTEGER NOT NULL, vcc_min_100uv INTEGER, vcc_max_100uv INTEGER, vcc_sum_100uv INTEGER,
  in_octets INTEGER, in_octets_unknown INTEGER NOT NULL,
  out_octets INTEGER, out_octets_unknown INTEGER NOT NULL,
  in_frames INTEGER, in_frames_unknown INTEGER NOT NULL,
  fcs_errors INTEGER, fcs_errors_unknown INTEGER NOT NULL,
  symbol_errors INTEGER, symbol_errors_unknown INTEGER NOT NULL,
  watched_ms INTEGER NOT NULL,
  down_ms INTEGER NOT NULL,
  uptime_max_cs INTEGER
) STRICT;

-- The same over one hour, kept for ever and read a year at a time, so clustered by end:
-- id = end number * 4294967296 + start_ms / 3600000.
CREATE TABLE hours (
  id INTEGER PRIMARY KEY,
  n INTEGER NOT NULL,
  silent INTEGER NOT NULL,
  rx_n INTEGER NOT NULL, rx_no_light INTEGER NOT NULL, rx_not_reported INTEGER NOT NULL,
  rx_min_mdbm INTEGER, rx_max_mdbm INTEGER, rx_sum_mdbm INTEGER,
  tx_n INTEGER NOT NULL, tx_no_light INTEGER NOT NULL, tx_not_reported INTEGER NOT NULL,
  tx_min_mdbm INTEGER, tx_max_mdbm INTEGER, tx_sum_mdbm INTEGER,
  bias_n INTEGER NOT NULL, bias_min_ua INTEGER, bias_max_ua INTEGER, bias_sum_ua INTEGER,
  temp_n INTEGER NOT NULL, temp_min_cc INTEGER, temp_max_cc INTEGER, temp_sum_cc INTEGER,
  vcc_n INTEGER NOT NULL, vcc_min_100uv INTEGER, vcc_max_100uv INTEGER, vcc_sum_100uv INTEGER,
  in_octets INTEGER, in_octets_unknown INTEGER NOT NULL,
  out_octets INTEGER, out_octets_unknown INTEGER NOT NULL,
  in_frames INTEGER, in_frames_unknown INTEGER NOT NULL,
  fcs_errors INTEGER, fcs_errors_unknown INTEGER NOT NULL,
  symbol_errors INTEGER, symbol_errors_unknown INTEGER NOT NULL,
  watched_ms INTEGER NOT NULL,
  down_ms INTEGER NOT NULL,
  uptime_max_cs INTEGER
) STRICT;

-- Medians of closed periods, by direction; slopes read only these. Kept for ever.
CREATE TABLE hour_stats (
  direction_id INTEGER NOT NULL,
  start_ms INTEGER NOT NULL,
  n INTEGER NOT NULL,
  rx_mdbm INTEGER, tx_mdbm INTEGER,
  loss_mdb INTEGER, added_loss_mdb INTEGER, compensated_mdb INTEGER, spread_mdb INTEGER,
  sender_temp_cc INTEGER, receiver_temp_cc INTEGER,
  PRIMARY KEY (direction_id, start_ms)
) STRICT, WITHOUT ROWID;

CREATE TABLE day_stats (
  direction_id INTEGER NOT NULL,
  start_ms INTEGER NOT NULL,
  n INTEGER NOT NULL,
  rx_mdbm INTEGER, tx_mdbm INTEGER,
  loss_mdb INTEGER, added_loss_mdb INTEGER, compensated_mdb INTEGER, spread_mdb INTEGER,
  sender_temp_cc INTEGER, receiver_temp_cc INTEGER,
  PRIMARY KEY (direction_id, start_ms)
) STRICT, WITHOUT ROWID;

-- What every output reads: one row a direction, and the whole of the link as JSON beside it.
CREATE TABLE verdict (
  direction_id INTEGER PRIMARY KEY,
  at_ms INTEGER NOT NULL,
  optics_ms INTEGER,
  rx_kind INTEGER NOT NULL CHECK (rx_kind IN (0, 1, 2)),
  rx_mdbm INTEGER,
  tx_kind INTEGER NOT NULL CHECK (tx_kind IN (0, 1, 2)),
  tx_mdbm INTEGER,
  margin_mdb INTEGER,
  headroom_mdb INTEGER,
  loss_mdb INTEGER,
  baseline_mdb INTEGER,
  added_loss_mdb INTEGER, added_loss_low_mdb INTEGER, added_loss_high_mdb INTEGER,
  drift_mdb_a_month INTEGER,
  forecast_earliest_ms INTEGER, forecast_latest_ms INTEGER,
  steps INTEGER NOT NULL,
  trend TEXT NOT NULL
) STRICT;

CREATE TABLE link_verdict (
  link_id INTEGER PRIMARY KEY REFERENCES link (id),
  at_ms INTEGER NOT NULL,
  up INTEGER CHECK (up IN (0, 1)),
  severity INTEGER,  -- of the worst finding; NULL without one
  json TEXT NOT NULL
) STRICT;

-- The analysis' own memory of a link, after the rows up to through_ms; only analysis reads it.
CREATE TABLE state (
  link_id INTEGER PRIMARY KEY REFERENCES link (id),
  through_ms INTEGER NOT NULL,
  state BLOB NOT NULL
) STRICT;

-- Set aside while the time of day is not trusted, to be judged again once the rows are dated.
CREATE TABLE state_before_epoch (
  link_id INTEGER PRIMARY KEY REFERENCES link (id),
  through_ms INTEGER NOT NULL,
  state BLOB NOT NULL
) STRICT;

CREATE TABLE event (
  id INTEGER PRIMARY KEY,
  link_id INTEGER NOT NULL REFERENCES link (id),
  time_ms INTEGER NOT NULL,
  kind TEXT NOT NULL,
  end INTEGER CHECK (end IN (0, 1)),
  direction INTEGER CHECK (direction IN (0, 1)),
  value REAL,
  text TEXT NOT NULL,
  uncertainty_ms INTEGER NOT NULL
) STRICT;

CREATE INDEX event_by_link ON event (link_id, time_ms);

-- What a person did: appended by whoever serves the person, applied by the daemon alone.
CREATE TABLE entry (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  kind TEXT NOT NULL,
  payload TEXT NOT NULL CHECK (json_valid(payload)),
  who TEXT NOT NULL,
  at_ms INTEGER NOT NULL,
  applied_ms INTEGER,
  refusal TEXT NOT NULL DEFAULT '',
  CHECK (refusal = '' OR applied_ms IS NULL)
) STRICT;

CREATE INDEX entry_waiting ON entry (id) WHERE applied_ms IS NULL AND refusal = '';

CREATE TABLE switch (
  name TEXT PRIMARY KEY,
  at_ms INTEGER NOT NULL,
  answered INTEGER NOT NULL CHECK (answered IN (0, 1)),
  since_ms INTEGER NOT NULL,  -- it answers, or does not, since then
  heard_ms INTEGER,
  misses INTEGER NOT NULL,
  json TEXT NOT NULL
) STRICT;

-- A jump of the clock on the wall. Rows from start_ms on are dated by this epoch.
CREATE TABLE time_epoch (
  id INTEGER PRIMARY KEY,
  start_ms INTEGER NOT NULL,
  shift_ms INTEGER NOT NULL,
  mode TEXT NOT NULL CHECK (mode IN ('trusted', 'held', 'catching-up')),
  reason TEXT NOT NULL,
  dated_ms INTEGER  -- when its rows were moved to their true time
) STRICT;
