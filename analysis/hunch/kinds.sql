-- Grain: one row per component seen in the class, causes left out.
SELECT DISTINCT f.component
FROM count_fault f
JOIN model m ON m.model = f.model
WHERE m.class = $class AND NOT f.is_cause
ORDER BY f.component
