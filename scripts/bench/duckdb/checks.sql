-- SPDX-License-Identifier: GPL-3.0-or-later
-- The same twelve checks as sqlite/checks.sql, as a line each: rule, failing events. No run has the time of another on
-- its analyzer, and a cleaning in the minute of a run is compared with the run's minute.
CREATE TEMP TABLE runs AS
  SELECT site, analyzer, method, operator, lot, code, performed_at FROM tests
  UNION ALL SELECT site, analyzer, method, operator, lot, code, performed_at FROM controls;
CREATE TEMP TABLE judged AS
  SELECT c.site, c.analyzer, c.method, c.level, c.performed_at, c.lot,
    coalesce(c.accepted, 'yes') <> 'no' AND CASE
      WHEN l.low IS NULL THEN TRY_CAST(c.result AS DOUBLE) BETWEEN l.mean - 2 * l.sd - 1e-9 AND l.mean + 2 * l.sd + 1e-9
      WHEN TRY_CAST(l.low AS DOUBLE) IS NULL THEN c.result = l.low
      ELSE coalesce(TRY_CAST(c.result AS DOUBLE) BETWEEN CAST(l.low AS DOUBLE) AND CAST(l.high AS DOUBLE), false) END AS good
  FROM controls c JOIN lots l ON l.site = c.site AND l.lot = c.control_lot AND l.method = c.method
    AND l.use = 'control' AND l.level = c.level;

SELECT 'analyzer.run-time', count(*) FROM (
  SELECT method, date_diff('second', lag(performed_at) OVER (PARTITION BY site, analyzer ORDER BY performed_at), performed_at) AS seconds
  FROM runs WHERE method <> 'cassette')
WHERE seconds < CASE method WHEN 'strip' THEN 270 ELSE 8 END;

SELECT 'cleaning.daily', count(*)
FROM (SELECT site, analyzer, performed_at::DATE AS day, max(performed_at) AS last FROM runs GROUP BY ALL) AS used
LEFT JOIN (SELECT site, analyzer, cleaned_at::DATE AS day, max(cleaned_at) AS cleaned FROM cleaning WHERE task = 'daily'
  GROUP BY ALL) AS done USING (site, analyzer, day)
WHERE cleaned IS NULL OR cleaned < date_trunc('minute', last);

SELECT 'controls.failed-then-tested', count(*)
FROM (SELECT site, analyzer, performed_at FROM tests) AS t
ASOF LEFT JOIN (SELECT * FROM judged WHERE level IN ('low', 'negative')) AS a
  ON t.site = a.site AND t.analyzer = a.analyzer AND t.performed_at >= a.performed_at
ASOF LEFT JOIN (SELECT * FROM judged WHERE level IN ('high', 'positive')) AS b
  ON t.site = b.site AND t.analyzer = b.analyzer AND t.performed_at >= b.performed_at
WHERE NOT coalesce(a.good, true) OR NOT coalesce(b.good, true);

SELECT 'controls.frequency', (
  SELECT count(*) FROM tests t
  LEFT JOIN (SELECT site, analyzer, day, max(good_at) AS good_at FROM (
      SELECT site, analyzer, performed_at::DATE AS day, level, min(performed_at) AS good_at FROM judged
      WHERE good AND method <> 'cassette' GROUP BY ALL)
    GROUP BY ALL HAVING count(*) = 2) AS g
  ON g.site = t.site AND g.analyzer = t.analyzer AND g.day = t.performed_at::DATE
  WHERE t.method <> 'cassette' AND (g.good_at IS NULL OR g.good_at > t.performed_at)
) + (
  SELECT count(*) FROM tests t
  LEFT JOIN (SELECT site, analyzer, lot, max(good_at) AS good_at FROM (
      SELECT site, analyzer, lot, level, min(performed_at) AS good_at FROM judged WHERE good AND method <> 'meter' GROUP BY ALL)
    GROUP BY ALL HAVING count(*) = 2) AS g
  ON g.site = t.site AND g.analyzer = t.analyzer AND g.lot = t.lot
  WHERE t.method <> 'meter' AND (g.good_at IS NULL OR g.good_at > t.performed_at));

SELECT 'environment.range', count(*) FROM temperatures
WHERE CASE place WHEN 'supply-fridge' THEN celsius NOT BETWEEN 2 AND 8
  ELSE celsius NOT BETWEEN 15 AND 30 OR coalesce(humidity, 0) > 80 END;

SELECT 'lots.code-match', count(*) FROM runs r JOIN lots l ON l.site = r.site AND l.lot = r.lot AND l.method = r.method
WHERE r.method = 'strip' AND l.use = 'reagent' AND l.code <> r.code;

SELECT 'lots.expired', count(*) FROM runs r JOIN lots l ON l.site = r.site AND l.lot = r.lot AND l.method = r.method
WHERE l.use = 'reagent' AND r.performed_at::DATE > l.expires_on;

SELECT 'people.competency', count(*)
FROM (SELECT site, operator, method, performed_at::DATE AS day FROM tests) AS t
ASOF JOIN (SELECT site, operator, method, held_on, CASE outcome WHEN 'pass' THEN (held_on + INTERVAL 12 MONTH)::DATE END AS until
  FROM training) AS a
  ON t.site = a.site AND t.operator = a.operator AND t.method = a.method AND t.day >= a.held_on
JOIN (SELECT site, operator, method, min(held_on) AS held_on FROM training WHERE event = 'initial' AND outcome = 'pass' GROUP BY ALL) AS i
  ON t.site = i.site AND t.operator = i.operator AND t.method = i.method AND i.held_on <= t.day
WHERE a.until IS NULL OR t.day > a.until;

SELECT 'people.trained', count(*) FROM tests t
LEFT JOIN (SELECT site, operator, method, min(held_on) AS held_on FROM training WHERE event = 'initial' AND outcome = 'pass' GROUP BY ALL) AS i
  ON t.site = i.site AND t.operator = i.operator AND t.method = i.method
WHERE i.held_on IS NULL OR i.held_on > t.performed_at::DATE;

SELECT 'results.follow-up', count(*) FROM (
  SELECT method, performed_at, notified_at, left(result, 1) AS sign, TRY_CAST(ltrim(result, '<>') AS DOUBLE) AS value
  FROM tests WHERE method <> 'cassette')
WHERE CASE method WHEN 'strip' THEN sign <> '<' AND value >= 14.0
    ELSE sign <> '<' AND value >= 400 OR sign <> '>' AND value <= 50 END
  AND (notified_at IS NULL
    OR date_diff('second', performed_at, notified_at) > CASE method WHEN 'strip' THEN 3600 ELSE 900 END);

SELECT 'results.reportable', count(*) FROM tests
WHERE NOT CASE method
  WHEN 'strip' THEN result IN ('<4.2', '>14.6') OR coalesce(TRY_CAST(result AS DOUBLE) BETWEEN 4.2 AND 14.6, false)
  WHEN 'meter' THEN result IN ('<20', '>600') OR coalesce(TRY_CAST(result AS DOUBLE) BETWEEN 20 AND 600, false)
  ELSE result IN ('positive', 'negative', 'invalid') END;

SELECT 'results.specimen-age', count(*) FROM tests
WHERE date_diff('second', collected_at, performed_at)
  > CASE method WHEN 'strip' THEN 300 + 270 WHEN 'meter' THEN 300 + 8 ELSE 1800 END;
