-- Grain:  one row per model, component, currency, month and unit cost.
-- Input:  part; lines with a component and a cost above 0 (a free part says nothing about its price).
-- Output: lines; the first and the last day the model's part cost that much in that month, in days since 1 January 1970.
--         currency is NULL when not told, and first then.
SELECT model, component, currency, unit_cost, lines, first_day - DATE '1970-01-01' AS first_day, last_day - DATE '1970-01-01' AS last_day
FROM (SELECT model, component, currency, month, unit_cost, count(*) AS lines, min(opened) AS first_day, max(opened) AS last_day
      FROM part
      WHERE component IS NOT NULL AND unit_cost > 0
      GROUP BY model, component, currency, month, unit_cost) quoted
ORDER BY model, component, currency NULLS FIRST, month, unit_cost
