-- Grain:  one row per model and unordered pair of components, a < b, seen on one visit.
-- Output: n and single as in units.sql, of visits that show both.
SELECT model, a, b, sum(n) AS n, sum(single) AS single
FROM (SELECT model, a, b, count(*) AS n, count(device) AS single
      FROM both_bad
      GROUP BY model, a, b
      UNION ALL
      SELECT s.model, s.a, s.b, 0, -count(*)
      FROM both_bad s
      JOIN device_repeat r ON r.device = s.device
      WHERE r.near
      GROUP BY s.model, s.a, s.b) counted
GROUP BY model, a, b
ORDER BY model, a, b
