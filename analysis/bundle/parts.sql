-- Grain:  one row per component, grade, currency, unit cost and month. A cost without a currency and the other way
--         round is not told.
SELECT component, grade, CASE WHEN unit_cost IS NOT NULL THEN currency END AS currency,
       CASE WHEN currency IS NOT NULL THEN unit_cost END AS unit_cost, month, count(*) AS lines
FROM part
WHERE component IS NOT NULL
GROUP BY component, grade, CASE WHEN unit_cost IS NOT NULL THEN currency END, CASE WHEN currency IS NOT NULL THEN unit_cost END, month
ORDER BY component, grade, currency, unit_cost, month
