-- Grain:  one row per job of the model or, with $model empty, of the class, that had the component as its only fault.
-- Param:  $model, $class, $component.
SELECT bench_minutes
FROM visit
WHERE class = $class AND (model = $model OR $model = '') AND components = 1 AND component = $component AND bench_minutes > 0
ORDER BY bench_minutes
