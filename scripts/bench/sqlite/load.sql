-- SPDX-License-Identifier: GPL-3.0-or-later
-- The logs of sites/*/records by the shell's `.import` into typed tables with the keys that their rows have, and the index
-- that an audit needs, all in one transaction. awk puts the site's name in front of each row and drops the headers: one
-- process a kind, beside the import. `.import` keeps an empty cell as '', not as NULL.
PRAGMA cache_size = -262144;
PRAGMA temp_store = MEMORY;
BEGIN;
CREATE TABLE operators(site TEXT, operator TEXT, name TEXT, role TEXT, may_assess TEXT, started_on TEXT, left_on TEXT,
  note TEXT, PRIMARY KEY(site, operator));
CREATE TABLE analyzers(site TEXT, analyzer TEXT, method TEXT, serial TEXT, in_service_on TEXT, retired_on TEXT, note TEXT,
  PRIMARY KEY(site, analyzer, method));
CREATE TABLE lots(site TEXT, lot TEXT, method TEXT, use TEXT, level TEXT, code TEXT, mean NUMERIC, sd NUMERIC,
  low NUMERIC, high NUMERIC, received_on TEXT, expires_on TEXT, discarded_on TEXT, note TEXT,
  PRIMARY KEY(site, lot, method, use, level));
CREATE TABLE openings(site TEXT, opened_on TEXT, lot TEXT, container TEXT, operator TEXT, note TEXT,
  PRIMARY KEY(site, opened_on, lot, container));
CREATE TABLE codes(site TEXT, changed_at TEXT, analyzer TEXT, code TEXT, lot TEXT, operator TEXT, note TEXT,
  PRIMARY KEY(site, changed_at, analyzer));
CREATE TABLE tests(site TEXT, test TEXT, performed_at TEXT, analyzer TEXT, method TEXT, operator TEXT, specimen TEXT,
  lot TEXT, code TEXT, result NUMERIC, unit TEXT, collected_at TEXT, reported_at TEXT, notified_at TEXT,
  sequence INTEGER, recorded_at TEXT, note TEXT, PRIMARY KEY(site, test));
CREATE TABLE controls(site TEXT, performed_at TEXT, analyzer TEXT, method TEXT, operator TEXT, control_lot TEXT,
  level TEXT, lot TEXT, code TEXT, result NUMERIC, unit TEXT, accepted TEXT, sequence INTEGER, recorded_at TEXT, note TEXT,
  PRIMARY KEY(site, analyzer, performed_at, control_lot, level, result));
CREATE TABLE cleaning(site TEXT, cleaned_at TEXT, analyzer TEXT, task TEXT, operator TEXT, recorded_at TEXT, note TEXT,
  PRIMARY KEY(site, analyzer, task, cleaned_at));
CREATE TABLE training(site TEXT, operator TEXT, method TEXT, event TEXT, held_on TEXT, assessor TEXT, outcome TEXT,
  techniques TEXT, note TEXT, PRIMARY KEY(site, operator, method, held_on, event));
CREATE TABLE temperatures(site TEXT, read_at TEXT, place TEXT, celsius REAL, humidity REAL, operator TEXT,
  recorded_at TEXT, note TEXT, PRIMARY KEY(site, read_at, place));
CREATE TABLE maintenance(site TEXT, done_at TEXT, analyzer TEXT, event TEXT, operator TEXT, note TEXT,
  PRIMARY KEY(site, done_at, analyzer, event));
CREATE TABLE comparisons(site TEXT, event TEXT, sample TEXT, analyzer TEXT, method TEXT, tested_at TEXT, operator TEXT,
  result NUMERIC, target NUMERIC, low REAL, high REAL, unit TEXT, note TEXT, PRIMARY KEY(site, event, sample, analyzer));
CREATE TABLE lot_checks(site TEXT, checked_at TEXT, analyzer TEXT, method TEXT, old_lot TEXT, new_lot TEXT,
  specimen TEXT, old_result NUMERIC, new_result NUMERIC, operator TEXT, note TEXT,
  PRIMARY KEY(site, checked_at, analyzer, new_lot, specimen));
CREATE TABLE procedures(site TEXT, procedure TEXT, method TEXT, revision TEXT, effective_on TEXT, reviewed_on TEXT,
  reviewed_by TEXT, insert_revision TEXT, note TEXT, PRIMARY KEY(site, procedure, revision));
CREATE TABLE actions(site TEXT, action TEXT, opened_on TEXT, finding TEXT, analyzer TEXT, about TEXT, problem TEXT,
  taken TEXT, owner TEXT, due_on TEXT, closed_on TEXT, verified_by TEXT, note TEXT, PRIMARY KEY(site, action));
.mode csv
.import "|awk 'FNR == 1 { split(FILENAME, part, \"/\"); next } { print part[2] \",\" $0 }' sites/*/records/operators.csv" operators
.import "|awk 'FNR == 1 { split(FILENAME, part, \"/\"); next } { print part[2] \",\" $0 }' sites/*/records/analyzers.csv" analyzers
.import "|awk 'FNR == 1 { split(FILENAME, part, \"/\"); next } { print part[2] \",\" $0 }' sites/*/records/lots.csv" lots
.import "|awk 'FNR == 1 { split(FILENAME, part, \"/\"); next } { print part[2] \",\" $0 }' sites/*/records/openings.csv" openings
.import "|awk 'FNR == 1 { split(FILENAME, part, \"/\"); next } { print part[2] \",\" $0 }' sites/*/records/codes.csv" codes
.import "|awk 'FNR == 1 { split(FILENAME, part, \"/\"); next } { print part[2] \",\" $0 }' sites/*/records/tests.csv" tests
.import "|awk 'FNR == 1 { split(FILENAME, part, \"/\"); next } { print part[2] \",\" $0 }' sites/*/records/controls.csv" controls
.import "|awk 'FNR == 1 { split(FILENAME, part, \"/\"); next } { print part[2] \",\" $0 }' sites/*/records/cleaning.csv" cleaning
.import "|awk 'FNR == 1 { split(FILENAME, part, \"/\"); next } { print part[2] \",\" $0 }' sites/*/records/training.csv" training
.import "|awk 'FNR == 1 { split(FILENAME, part, \"/\"); next } { print part[2] \",\" $0 }' sites/*/records/temperatures.csv" temperatures
.import "|awk 'FNR == 1 { split(FILENAME, part, \"/\"); next } { print part[2] \",\" $0 }' sites/*/records/maintenance.csv" maintenance
.import "|awk 'FNR == 1 { split(FILENAME, part, \"/\"); next } { print part[2] \",\" $0 }' sites/*/records/comparisons.csv" comparisons
.import "|awk 'FNR == 1 { split(FILENAME, part, \"/\"); next } { print part[2] \",\" $0 }' sites/*/records/lot_checks.csv" lot_checks
.import "|awk 'FNR == 1 { split(FILENAME, part, \"/\"); next } { print part[2] \",\" $0 }' sites/*/records/procedures.csv" procedures
.import "|awk 'FNR == 1 { split(FILENAME, part, \"/\"); next } { print part[2] \",\" $0 }' sites/*/records/actions.csv" actions
CREATE INDEX tests_in_time ON tests(site, analyzer, performed_at);
COMMIT;
