-- Grain:  one row per model and unordered pair of components, a < b, seen on one visit.
-- Output: n and single as in units.sql, of visits that show both.
WITH several AS (
    SELECT f.visit, f.model, f.component, f.device
    FROM fault f
    JOIN (SELECT visit FROM visit WHERE components > 2) v ON v.visit = f.visit
    WHERE NOT f.is_cause
), shown AS (
    SELECT model, component AS a, component_b AS b, device FROM visit WHERE components = 2
    UNION ALL
    SELECT x.model, x.component, y.component, x.device
    FROM several x
    JOIN several y ON y.visit = x.visit AND x.component < y.component
)
SELECT model, a, b, sum(n) AS n, sum(single) AS single
FROM (SELECT model, a, b, count(*) AS n, count(device) AS single
      FROM shown
      GROUP BY model, a, b
      UNION ALL
      SELECT s.model, s.a, s.b, 0, -count(*)
      FROM shown s
      JOIN device_repeat r ON r.device = s.device
      WHERE r.near
      GROUP BY s.model, s.a, s.b) counted
GROUP BY model, a, b
ORDER BY model, a, b
