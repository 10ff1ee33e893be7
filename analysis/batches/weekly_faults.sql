-- Grain:  one row per component, model and week in which it showed.
-- Param:  as in weekly_visits.sql.
-- Output: faults are diagnosed visits that show the component; causes (liquid, drop) are no components.
SELECT f.component, v.model, CAST(floor((CAST($last AS DATE) - CAST(v.opened AS DATE)) / 7.0) AS INTEGER) AS back, count(*) AS faults
FROM visit v
JOIN fault f ON f.visit = v.visit
WHERE v.diagnosed AND NOT f.is_cause
  AND CAST(v.opened AS DATE) <= CAST($last AS DATE) AND CAST(v.opened AS DATE) > CAST($last AS DATE) - 7 * CAST($weeks AS INTEGER)
GROUP BY f.component, v.model, back
ORDER BY f.component, v.model, back
