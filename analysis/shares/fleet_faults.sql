-- Grain:  one row per model, month and component seen in it.
-- Output: month is its first day; faults are visits that show the component.
SELECT model, month, component, faults
FROM count_fault
ORDER BY model, month, component
