-- SPDX-License-Identifier: GPL-3.0-or-later
-- The logs of sites/*/records as typed tables, flat: no keys, no index.
BEGIN;
CREATE TABLE operators AS SELECT split_part(filename, '/', 2) AS site, * EXCLUDE filename FROM read_csv('sites/*/records/operators.csv',
  auto_detect = false, filename = true, header = true, delim = ',', quote = '"', columns = {operator: 'VARCHAR', name: 'VARCHAR', role: 'VARCHAR',
    may_assess: 'VARCHAR', started_on: 'DATE', left_on: 'DATE', note: 'VARCHAR'});
CREATE TABLE analyzers AS SELECT split_part(filename, '/', 2) AS site, * EXCLUDE filename FROM read_csv('sites/*/records/analyzers.csv',
  auto_detect = false, filename = true, header = true, delim = ',', quote = '"', columns = {analyzer: 'VARCHAR', method: 'VARCHAR', serial: 'VARCHAR',
    in_service_on: 'DATE', retired_on: 'DATE', note: 'VARCHAR'});
CREATE TABLE lots AS SELECT split_part(filename, '/', 2) AS site, * EXCLUDE filename FROM read_csv('sites/*/records/lots.csv',
  auto_detect = false, filename = true, header = true, delim = ',', quote = '"', columns = {lot: 'VARCHAR', method: 'VARCHAR', use: 'VARCHAR',
    level: 'VARCHAR', code: 'VARCHAR', mean: 'DOUBLE', sd: 'DOUBLE', low: 'VARCHAR', high: 'VARCHAR', received_on: 'DATE',
    expires_on: 'DATE', discarded_on: 'DATE', note: 'VARCHAR'});
CREATE TABLE openings AS SELECT split_part(filename, '/', 2) AS site, * EXCLUDE filename FROM read_csv('sites/*/records/openings.csv',
  auto_detect = false, filename = true, header = true, delim = ',', quote = '"', columns = {opened_on: 'DATE', lot: 'VARCHAR', container: 'VARCHAR',
    operator: 'VARCHAR', note: 'VARCHAR'});
CREATE TABLE codes AS SELECT split_part(filename, '/', 2) AS site, * EXCLUDE filename FROM read_csv('sites/*/records/codes.csv',
  auto_detect = false, filename = true, header = true, delim = ',', quote = '"', columns = {changed_at: 'TIMESTAMP', analyzer: 'VARCHAR',
    code: 'VARCHAR', lot: 'VARCHAR', operator: 'VARCHAR', note: 'VARCHAR'});
CREATE TABLE tests AS SELECT split_part(filename, '/', 2) AS site, * EXCLUDE filename FROM read_csv('sites/*/records/tests.csv',
  auto_detect = false, filename = true, header = true, delim = ',', quote = '"', columns = {test: 'VARCHAR', performed_at: 'TIMESTAMP',
    analyzer: 'VARCHAR', method: 'VARCHAR', operator: 'VARCHAR', specimen: 'VARCHAR', lot: 'VARCHAR', code: 'VARCHAR',
    result: 'VARCHAR', unit: 'VARCHAR', collected_at: 'TIMESTAMP', reported_at: 'TIMESTAMP', notified_at: 'TIMESTAMP',
    sequence: 'BIGINT', recorded_at: 'TIMESTAMP', note: 'VARCHAR'});
CREATE TABLE controls AS SELECT split_part(filename, '/', 2) AS site, * EXCLUDE filename FROM read_csv('sites/*/records/controls.csv',
  auto_detect = false, filename = true, header = true, delim = ',', quote = '"', columns = {performed_at: 'TIMESTAMP', analyzer: 'VARCHAR',
    method: 'VARCHAR', operator: 'VARCHAR', control_lot: 'VARCHAR', level: 'VARCHAR', lot: 'VARCHAR', code: 'VARCHAR',
    result: 'VARCHAR', unit: 'VARCHAR', accepted: 'VARCHAR', sequence: 'BIGINT', recorded_at: 'TIMESTAMP', note: 'VARCHAR'});
CREATE TABLE cleaning AS SELECT split_part(filename, '/', 2) AS site, * EXCLUDE filename FROM read_csv('sites/*/records/cleaning.csv',
  auto_detect = false, filename = true, header = true, delim = ',', quote = '"', columns = {cleaned_at: 'TIMESTAMP', analyzer: 'VARCHAR',
    task: 'VARCHAR', operator: 'VARCHAR', recorded_at: 'TIMESTAMP', note: 'VARCHAR'});
CREATE TABLE training AS SELECT split_part(filename, '/', 2) AS site, * EXCLUDE filename FROM read_csv('sites/*/records/training.csv',
  auto_detect = false, filename = true, header = true, delim = ',', quote = '"', columns = {operator: 'VARCHAR', method: 'VARCHAR',
    event: 'VARCHAR', held_on: 'DATE', assessor: 'VARCHAR', outcome: 'VARCHAR', techniques: 'VARCHAR', note: 'VARCHAR'});
CREATE TABLE temperatures AS SELECT split_part(filename, '/', 2) AS site, * EXCLUDE filename FROM read_csv('sites/*/records/temperatures.csv',
  auto_detect = false, filename = true, header = true, delim = ',', quote = '"', columns = {read_at: 'TIMESTAMP', place: 'VARCHAR',
    celsius: 'DOUBLE', humidity: 'DOUBLE', operator: 'VARCHAR', recorded_at: 'TIMESTAMP', note: 'VARCHAR'});
CREATE TABLE maintenance AS SELECT split_part(filename, '/', 2) AS site, * EXCLUDE filename FROM read_csv('sites/*/records/maintenance.csv',
  auto_detect = false, filename = true, header = true, delim = ',', quote = '"', columns = {done_at: 'TIMESTAMP', analyzer: 'VARCHAR',
    event: 'VARCHAR', operator: 'VARCHAR', note: 'VARCHAR'});
CREATE TABLE comparisons AS SELECT split_part(filename, '/', 2) AS site, * EXCLUDE filename FROM read_csv('sites/*/records/comparisons.csv',
  auto_detect = false, filename = true, header = true, delim = ',', quote = '"', columns = {event: 'VARCHAR', sample: 'VARCHAR', analyzer: 'VARCHAR',
    method: 'VARCHAR', tested_at: 'TIMESTAMP', operator: 'VARCHAR', result: 'VARCHAR', target: 'VARCHAR', low: 'DOUBLE',
    high: 'DOUBLE', unit: 'VARCHAR', note: 'VARCHAR'});
CREATE TABLE lot_checks AS SELECT split_part(filename, '/', 2) AS site, * EXCLUDE filename FROM read_csv('sites/*/records/lot_checks.csv',
  auto_detect = false, filename = true, header = true, delim = ',', quote = '"', columns = {checked_at: 'TIMESTAMP', analyzer: 'VARCHAR',
    method: 'VARCHAR', old_lot: 'VARCHAR', new_lot: 'VARCHAR', specimen: 'VARCHAR', old_result: 'VARCHAR',
    new_result: 'VARCHAR', operator: 'VARCHAR', note: 'VARCHAR'});
CREATE TABLE procedures AS SELECT split_part(filename, '/', 2) AS site, * EXCLUDE filename FROM read_csv('sites/*/records/procedures.csv',
  auto_detect = false, filename = true, header = true, delim = ',', quote = '"', columns = {procedure: 'VARCHAR', method: 'VARCHAR',
    revision: 'VARCHAR', effective_on: 'DATE', reviewed_on: 'DATE', reviewed_by: 'VARCHAR', insert_revision: 'VARCHAR',
    note: 'VARCHAR'});
CREATE TABLE actions AS SELECT split_part(filename, '/', 2) AS site, * EXCLUDE filename FROM read_csv('sites/*/records/actions.csv',
  auto_detect = false, filename = true, header = true, delim = ',', quote = '"', columns = {action: 'VARCHAR', opened_on: 'DATE', finding: 'VARCHAR',
    analyzer: 'VARCHAR', about: 'VARCHAR', problem: 'VARCHAR', taken: 'VARCHAR', owner: 'VARCHAR', due_on: 'DATE',
    closed_on: 'DATE', verified_by: 'VARCHAR', note: 'VARCHAR'});
COMMIT;
