-- Grain:  one row per model.
-- Output: visits of all kinds.
SELECT m.model, m.class, m.maker, sum(c.visits) AS visits
FROM model m
JOIN count_visit c ON c.model = m.model
GROUP BY m.model, m.class, m.maker
ORDER BY m.model
