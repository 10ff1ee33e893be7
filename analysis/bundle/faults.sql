-- Grain:  one row per model, component and month; causes (liquid, drop) too.
-- Output: faults are diagnosed visits that show the component.
SELECT model, component, is_cause, month, faults
FROM count_fault
ORDER BY model, component, month
