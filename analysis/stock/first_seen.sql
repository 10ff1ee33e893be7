-- Grain:  one row per model.
-- Output: the day of its first visit.
SELECT v.model, m.class, m.maker, m.family, min(CAST(v.opened AS DATE)) AS first_day
FROM visit v
JOIN model m ON m.model = v.model
GROUP BY v.model, m.class, m.maker, m.family
ORDER BY v.model
