-- Grain:  one row per model and month it was in.
-- Output: diagnosed visits; month is its first day.
SELECT m.class, c.model, c.month, c.diagnosed
FROM count_visit c
JOIN model m ON m.model = c.model
ORDER BY m.class, c.model, c.month
