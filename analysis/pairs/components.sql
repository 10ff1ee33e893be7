-- Grain:  one row per model and component that is no cause.
-- Output: n and single as in units.sql, of visits that show the component.
SELECT model, component, sum(n) AS n, sum(single) AS single
FROM (SELECT model, component, count(*) AS n, count(device) AS single
      FROM fault
      WHERE NOT is_cause
      GROUP BY model, component
      UNION ALL
      SELECT model, component, 0, -count(*)
      FROM repeat_fault
      WHERE near AND NOT is_cause
      GROUP BY model, component) counted
GROUP BY model, component
ORDER BY model, component
