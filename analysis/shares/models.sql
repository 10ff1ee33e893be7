-- Grain:  one row per model with at least one visit.
-- Output: diagnosed visits, and unread visits that are not diagnosed; integers.
SELECT m.class, m.maker, m.family, m.model, sum(c.diagnosed) AS diagnosed, sum(c.unread) AS unread
FROM count_visit c
JOIN model m ON m.model = c.model
GROUP BY m.class, m.maker, m.family, m.model
ORDER BY m.class, m.maker, m.family, m.model
