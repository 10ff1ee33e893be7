-- Grain:  one row per model and month with a diagnosed visit.
-- Output: month is its first day.
SELECT m.model, m.class, m.maker, m.family, c.month, c.diagnosed
FROM count_visit c
JOIN model m ON m.model = c.model
WHERE c.diagnosed > 0
ORDER BY m.model, c.month
