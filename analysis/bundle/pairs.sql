-- Grain:  one row per model, unordered pair of components, a < b, and month in which one visit shows both.
WITH several AS (
    SELECT f.visit, f.model, f.month, f.component
    FROM fault f
    JOIN (SELECT visit FROM visit WHERE components > 2) v ON v.visit = f.visit
    WHERE NOT f.is_cause
), shown AS (
    SELECT model, component AS a, component_b AS b, month FROM visit WHERE components = 2
    UNION ALL
    SELECT x.model, x.component, y.component, x.month
    FROM several x
    JOIN several y ON y.visit = x.visit AND x.component < y.component
)
SELECT model, a, b, month, count(*) AS visits
FROM shown
GROUP BY model, a, b, month
ORDER BY model, a, b, month
