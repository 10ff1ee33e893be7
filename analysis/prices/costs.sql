-- Grain:  one row per model, component, currency, month and unit cost.
-- Input:  part, model; lines with a component and a cost above 0 (a free part says nothing about its price).
-- Output: lines; the first and the last day the model's part cost that much in that month. currency is empty when not told.
SELECT p.model, m.class, p.component, coalesce(CAST(p.currency AS VARCHAR), '') AS currency, p.month, p.unit_cost,
       count(*) AS lines, min(CAST(p.opened AS DATE)) AS first_day, max(CAST(p.opened AS DATE)) AS last_day
FROM part p
JOIN model m ON m.model = p.model
WHERE p.component IS NOT NULL AND p.unit_cost > 0
GROUP BY p.model, m.class, p.component, coalesce(CAST(p.currency AS VARCHAR), ''), p.month, p.unit_cost
ORDER BY p.model, p.component, coalesce(CAST(p.currency AS VARCHAR), ''), p.month, p.unit_cost
