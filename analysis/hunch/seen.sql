-- Grain:  one row per side: lately (the model since $since), before (the model until then), others (the rest of its class).
-- Param:  $model, $class, $component; $since, the first day of the period asked about.
-- Output: diagnosed visits, and those of them that show the component.
SELECT CASE WHEN v.model <> $model THEN 'others' WHEN CAST(v.opened AS DATE) >= CAST($since AS DATE) THEN 'lately' ELSE 'before' END AS side,
       count(*) AS visits, count(f.visit) AS faults
FROM visit v
LEFT JOIN fault f ON f.visit = v.visit AND f.component = $component
WHERE v.diagnosed AND v.class = $class
GROUP BY side
ORDER BY side
