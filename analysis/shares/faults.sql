-- Grain:  one row per model and component seen on it.
-- Output: faults are visits that show the component.
SELECT model, component, is_cause, sum(faults) AS faults
FROM count_fault
GROUP BY model, component, is_cause
ORDER BY model, component
