-- Grain:  one row per model and component that is no cause.
-- Output: n and single as in units.sql, of visits that show the component.
SELECT model, component, sum(n) AS n, sum(single) AS single
FROM (SELECT model, component, count(*) AS n, count(device) AS single
      FROM fault
      WHERE NOT is_cause
      GROUP BY model, component
      UNION ALL
      SELECT f.model, f.component, 0, -count(*)
      FROM fault f
      JOIN device_repeat r ON r.device = f.device
      WHERE r.near AND NOT f.is_cause
      GROUP BY f.model, f.component) counted
GROUP BY model, component
ORDER BY model, component
