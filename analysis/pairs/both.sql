-- Grain:  one row per model and unordered pair of components, a < b, seen on one visit.
-- Output: n and single as in units.sql, of visits that show both.
WITH faulty AS (
    SELECT f.visit, v.model, f.component, CASE WHEN v.device IS NOT NULL AND r.device IS NULL THEN 1 END AS single
    FROM fault f
    JOIN (SELECT visit, model, device FROM visit WHERE components > 1) v ON v.visit = f.visit
    LEFT JOIN (SELECT device FROM device_repeat WHERE near) r ON r.device = v.device
    WHERE NOT f.is_cause
)
SELECT a.model, a.component AS a, b.component AS b, count(*) AS n, count(a.single) AS single
FROM faulty a
JOIN faulty b ON b.visit = a.visit AND a.component < b.component
GROUP BY a.model, a.component, b.component
ORDER BY a.model, a.component, b.component
