-- Grain:  one row per model and unordered pair of components, a < b, seen on one visit.
-- Output: n and single as in units.sql, of visits that show both.
SELECT model, a, b, sum(n) AS n, sum(single) AS single
FROM (SELECT model, a, b, count(*) AS n, count(device) AS single
      FROM both_bad
      GROUP BY model, a, b
      UNION ALL
      SELECT x.model, x.component, y.component, 0, -count(*)
      FROM repeat_fault x
      JOIN repeat_fault y ON y.visit = x.visit AND x.component < y.component
      WHERE x.near AND y.near AND NOT x.is_cause AND NOT y.is_cause
      GROUP BY x.model, x.component, y.component) counted
GROUP BY model, a, b
ORDER BY model, a, b
