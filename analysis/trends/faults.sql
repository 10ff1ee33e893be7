-- Grain:  one row per model, month and component, causes included.
-- Output: faults are visits that show the component; month is its first day.
SELECT m.class, c.model, c.month, c.component, c.is_cause, c.faults
FROM count_fault c
JOIN model m ON m.model = c.model
ORDER BY m.class, c.model, c.component, c.month
