-- Grain:  one row per model and component that is no cause.
-- Output: n and single as in units.sql, of visits that show the component.
SELECT f.model, f.component, count(*) AS n, count(CASE WHEN v.device IS NOT NULL AND r.device IS NULL THEN 1 END) AS single
FROM fault f
JOIN visit v ON v.visit = f.visit
LEFT JOIN (SELECT device FROM device_repeat WHERE near) r ON r.device = v.device
WHERE NOT f.is_cause
GROUP BY f.model, f.component
ORDER BY f.model, f.component
