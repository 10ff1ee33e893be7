-- Grain:  one row per component, model and week in which it showed.
-- Param:  as in weekly_visits.sql.
-- Output: faults are diagnosed visits that show the component; causes (liquid, drop) are no components.
SELECT f.component, f.model, CAST(floor((CAST($last AS DATE) - CAST(f.opened AS DATE)) / 7.0) AS INTEGER) AS back, count(*) AS faults
FROM fault f
WHERE NOT f.is_cause
  AND CAST(f.opened AS DATE) <= CAST($last AS DATE) AND CAST(f.opened AS DATE) > CAST($last AS DATE) - 7 * CAST($weeks AS INTEGER)
GROUP BY f.component, f.model, back
ORDER BY f.component, f.model, back
