-- Grain:  one row per model, unordered pair of components, a < b, and month in which one visit shows both.
SELECT model, a, b, month, count(*) AS visits
FROM both_bad
GROUP BY model, a, b, month
ORDER BY model, a, b, month
