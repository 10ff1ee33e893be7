-- Grain:  one row per model, component, currency, month and unit cost.
-- Input:  part; lines with a component and a cost above 0 (a free part says nothing about its price).
-- Output: lines; the first and the last day the model's part cost that much in that month. currency is empty when not told.
SELECT model, component, coalesce(CAST(currency AS VARCHAR), '') AS currency, month, unit_cost, lines, first_day, last_day
FROM (SELECT model, component, currency, month, unit_cost, count(*) AS lines, min(opened) AS first_day, max(opened) AS last_day
      FROM part
      WHERE component IS NOT NULL AND unit_cost > 0
      GROUP BY model, component, currency, month, unit_cost) quoted
ORDER BY model, component, coalesce(CAST(currency AS VARCHAR), ''), month, unit_cost
