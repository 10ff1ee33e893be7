-- Grain:  one row per part line of the component on the model or, with $model empty, on the class, with a cost, since $since.
-- Param:  $model, $class, $component, $since.
SELECT coalesce(CAST(p.currency AS VARCHAR), '') AS currency, p.unit_cost
FROM part p
JOIN visit v ON v.visit = p.visit
WHERE v.class = $class AND (v.model = $model OR $model = '') AND p.component = $component AND p.unit_cost > 0
  AND CAST(v.opened AS DATE) >= CAST($since AS DATE)
ORDER BY currency, p.unit_cost
