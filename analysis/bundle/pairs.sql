-- Grain:  one row per model, unordered pair of components, a < b, and month in which one visit shows both.
WITH faulty AS (
    SELECT f.visit, f.model, f.month, f.component
    FROM fault f
    JOIN (SELECT visit FROM visit WHERE components > 1) v ON v.visit = f.visit
    WHERE NOT f.is_cause
)
SELECT a.model, a.component AS a, b.component AS b, a.month, count(*) AS visits
FROM faulty a
JOIN faulty b ON b.visit = a.visit AND a.component < b.component
GROUP BY a.model, a.component, b.component, a.month
ORDER BY a.model, a.component, b.component, a.month
