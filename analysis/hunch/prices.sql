-- Grain:  one row per part line of the component on the model or, with $model empty, on the class, with a cost, since $since.
-- Param:  $model, $class, $component, $since.
SELECT coalesce(CAST(p.currency AS VARCHAR), '') AS currency, p.unit_cost
FROM part p
JOIN model m ON m.model = p.model
WHERE m.class = $class AND (p.model = $model OR $model = '') AND p.component = $component AND p.unit_cost > 0
  AND p.opened >= CAST($since AS DATE)
ORDER BY currency, p.unit_cost
