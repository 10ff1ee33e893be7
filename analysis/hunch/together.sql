-- Grain:  one row per other component seen on the model, causes left out.
-- Param:  $model, $component.
-- Output: faults are diagnosed visits of the model that show it, both those that show $component, too.
SELECT f.component, count(*) AS faults, count(a.visit) AS both
FROM fault f
LEFT JOIN fault a ON a.visit = f.visit AND a.component = $component
WHERE f.model = $model AND NOT f.is_cause AND f.component <> $component
GROUP BY f.component
ORDER BY f.component
