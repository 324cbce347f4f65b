-- SPDX-License-Identifier: GPL-3.0-or-later
-- Twelve checks of the rulebook over all that was imported, as a line each: rule, failing events. They know what the
-- methods of scripts/bench/program ask for. Times of one analyzer have one form, so they can be compared as text; a
-- cleaning in the minute of a run is compared with the run's minute. Wherever it helps, a check goes from the few
-- things that are wrong (an expired lot, a failed control) to the tests they touch, not from each test to all behind it.
PRAGMA cache_size = -262144;
PRAGMA mmap_size = 8589934592;
PRAGMA temp_store = MEMORY;
.mode list
.separator ' '

CREATE TEMP TABLE ended AS
  SELECT site, method, lot, expires_on, code FROM lots WHERE use = 'reagent';
CREATE UNIQUE INDEX temp.ended_key ON ended(site, lot, method, expires_on, code);

-- Controls, judged: 1 good, 0 failed.
CREATE TEMP TABLE judged AS
  SELECT c.site, c.analyzer, c.method, c.level, c.performed_at, c.lot,
    c.accepted <> 'no' AND CASE
      WHEN l.low = '' THEN c.result BETWEEN l.mean - 2 * l.sd - 1e-9 AND l.mean + 2 * l.sd + 1e-9
      WHEN typeof(l.low) = 'text' THEN c.result = l.low
      ELSE typeof(c.result) <> 'text' AND c.result BETWEEN l.low AND l.high END AS good
  FROM controls c JOIN lots l ON l.site = c.site AND l.lot = c.control_lot AND l.method = c.method
    AND l.use = 'control' AND l.level = c.level;

-- Runs of both kinds, in the order of each analyzer.
SELECT 'analyzer.run-time', count(*) FROM (
  SELECT method, unixepoch(performed_at)
      - lag(unixepoch(performed_at)) OVER (PARTITION BY site, analyzer ORDER BY performed_at) AS seconds
  FROM (SELECT site, analyzer, method, performed_at FROM tests WHERE method <> 'cassette'
    UNION ALL SELECT site, analyzer, method, performed_at FROM controls WHERE method <> 'cassette'))
WHERE seconds < CASE method WHEN 'strip' THEN 270 ELSE 8 END;

SELECT 'cleaning.daily', count(*) FROM (
  SELECT site, analyzer, substr(performed_at, 1, 10) AS day, max(performed_at) AS last
  FROM (SELECT site, analyzer, performed_at FROM tests UNION ALL SELECT site, analyzer, performed_at FROM controls)
  GROUP BY site, analyzer, day) AS used
WHERE NOT EXISTS (SELECT 1 FROM cleaning c WHERE c.site = used.site AND c.analyzer = used.analyzer AND c.task = 'daily'
  AND c.cleaned_at >= substr(last, 1, 16) AND c.cleaned_at < used.day || 'a');

-- From failed controls: the tests up to the next control of the level.
SELECT 'controls.failed-then-tested', count(DISTINCT t.rowid) FROM (
  SELECT site, analyzer, performed_at, good,
    lead(performed_at, 1, '9') OVER (PARTITION BY site, analyzer, level ORDER BY performed_at) AS next
  FROM judged) AS f
JOIN tests t ON t.site = f.site AND t.analyzer = f.analyzer AND t.performed_at >= f.performed_at AND t.performed_at < f.next
WHERE NOT f.good;

-- The first time at which each level was good, by day and by lot.
CREATE TEMP TABLE good_days AS
  SELECT site, analyzer, day, max(good_at) AS good_at FROM (
    SELECT site, analyzer, substr(performed_at, 1, 10) AS day, level, min(performed_at) AS good_at
    FROM judged WHERE good AND method <> 'cassette' GROUP BY site, analyzer, day, level)
  GROUP BY site, analyzer, day HAVING count(*) = 2;
CREATE UNIQUE INDEX temp.good_days_key ON good_days(site, analyzer, day, good_at);
CREATE TEMP TABLE good_lots AS
  SELECT site, analyzer, lot, max(good_at) AS good_at FROM (
    SELECT site, analyzer, lot, level, min(performed_at) AS good_at
    FROM judged WHERE good AND method <> 'meter' GROUP BY site, analyzer, lot, level)
  GROUP BY site, analyzer, lot HAVING count(*) = 2;
CREATE UNIQUE INDEX temp.good_lots_key ON good_lots(site, analyzer, lot, good_at);

SELECT 'controls.frequency',
  (SELECT count(*) FROM tests t WHERE method <> 'cassette' AND NOT EXISTS (SELECT 1 FROM good_days g
    WHERE g.site = t.site AND g.analyzer = t.analyzer AND g.day = substr(t.performed_at, 1, 10) AND g.good_at <= t.performed_at))
  + (SELECT count(*) FROM tests t WHERE method <> 'meter' AND NOT EXISTS (SELECT 1 FROM good_lots g
    WHERE g.site = t.site AND g.analyzer = t.analyzer AND g.lot = t.lot AND g.good_at <= t.performed_at));

SELECT 'environment.range', count(*) FROM temperatures
WHERE CASE place WHEN 'supply-fridge' THEN celsius NOT BETWEEN 2 AND 8
  ELSE celsius NOT BETWEEN 15 AND 30 OR humidity > 80 END;

SELECT 'lots.code-match', count(*)
FROM (SELECT site, lot, method, code FROM tests WHERE method = 'strip' AND code <> ''
  UNION ALL SELECT site, lot, method, code FROM controls WHERE method = 'strip' AND code <> '') AS run
JOIN ended l ON l.site = run.site AND l.lot = run.lot AND l.method = run.method AND l.code <> '' AND l.code <> run.code;

SELECT 'lots.expired', count(*)
FROM (SELECT site, lot, method, performed_at FROM tests UNION ALL SELECT site, lot, method, performed_at FROM controls) AS run
JOIN ended l ON l.site = run.site AND l.lot = run.lot AND l.method = run.method AND substr(run.performed_at, 1, 10) > l.expires_on;

-- Until when the latest assessment holds, from its day to the next one's.
CREATE TEMP TABLE assessed AS
  SELECT site, operator, method, held_on, CASE outcome WHEN 'pass' THEN date(held_on, '+12 months') ELSE '' END AS until,
    lead(held_on, 1, '9') OVER (PARTITION BY site, operator, method ORDER BY held_on) AS next
  FROM training;
CREATE UNIQUE INDEX temp.assessed_key ON assessed(site, operator, method, held_on, next, until);
CREATE TEMP TABLE trained AS
  SELECT site, operator, method, min(held_on) AS held_on FROM training WHERE event = 'initial' AND outcome = 'pass'
  GROUP BY site, operator, method;
CREATE UNIQUE INDEX temp.trained_key ON trained(site, operator, method, held_on);

SELECT 'people.competency', count(*) FROM assessed a
JOIN trained i ON i.site = a.site AND i.operator = a.operator AND i.method = a.method
JOIN tests t ON t.site = a.site AND t.operator = a.operator AND t.method = a.method
  AND t.performed_at >= max(a.held_on, i.held_on, CASE a.until WHEN '' THEN '' ELSE date(a.until, '+1 day') END)
  AND t.performed_at < a.next
WHERE a.until < a.next;

SELECT 'people.trained', count(*) FROM tests t
WHERE NOT EXISTS (SELECT 1 FROM trained i WHERE i.site = t.site AND i.operator = t.operator AND i.method = t.method
  AND i.held_on <= substr(t.performed_at, 1, 10));

SELECT 'results.follow-up', count(*) FROM tests
WHERE CASE method
    WHEN 'strip' THEN result >= 14.0 AND (typeof(result) <> 'text' OR result LIKE '>%' AND CAST(substr(result, 2) AS REAL) >= 14.0)
    WHEN 'meter' THEN CASE typeof(result) WHEN 'text' THEN
      result LIKE '>%' AND CAST(substr(result, 2) AS REAL) >= 400 OR result LIKE '<%' AND CAST(substr(result, 2) AS REAL) <= 50
      ELSE result <= 50 OR result >= 400 END
    ELSE 0 END
  AND (notified_at = '' OR unixepoch(notified_at) - unixepoch(performed_at) > CASE method WHEN 'strip' THEN 3600 ELSE 900 END);

SELECT 'results.reportable', count(*) FROM tests
WHERE CASE method
  WHEN 'strip' THEN CASE typeof(result) WHEN 'text' THEN result NOT IN ('<4.2', '>14.6') ELSE result NOT BETWEEN 4.2 AND 14.6 END
  WHEN 'meter' THEN CASE typeof(result) WHEN 'text' THEN result NOT IN ('<20', '>600') ELSE result NOT BETWEEN 20 AND 600 END
  ELSE result NOT IN ('positive', 'negative', 'invalid') END;

SELECT 'results.specimen-age', count(*) FROM tests
WHERE unixepoch(performed_at) - unixepoch(collected_at)
  > CASE method WHEN 'strip' THEN 300 + 270 WHEN 'meter' THEN 300 + 8 ELSE 1800 END;
