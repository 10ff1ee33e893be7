-- Grain:  one row per job of the model or, with $model empty, of the class, that had the component as its only fault.
-- Param:  $model, $class, $component.
SELECT v.bench_minutes
FROM visit v
JOIN model m ON m.model = v.model
WHERE m.class = $class AND (v.model = $model OR $model = '') AND v.components = 1 AND v.component = $component AND v.bench_minutes > 0
ORDER BY v.bench_minutes
