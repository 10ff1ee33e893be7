-- Grain:  one row per model and component that is no cause.
-- Output: n and single as in units.sql, of visits that show the component. Visits with one component are
--         counted without their faults, which spares most of the join.
WITH shown AS (
    SELECT v.model, v.component, v.device FROM visit v WHERE v.components = 1
    UNION ALL
    SELECT v.model, f.component, v.device
    FROM fault f
    JOIN (SELECT visit, model, device FROM visit WHERE components > 1) v ON v.visit = f.visit
    WHERE NOT f.is_cause
)
SELECT s.model, s.component, count(*) AS n, count(CASE WHEN s.device IS NOT NULL AND r.device IS NULL THEN 1 END) AS single
FROM shown s
LEFT JOIN (SELECT device FROM device_repeat WHERE near) r ON r.device = s.device
GROUP BY s.model, s.component
ORDER BY s.model, s.component
