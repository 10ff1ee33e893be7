-- Grain:  one row per side: lately (the model since $since), before (the model until then), others (the rest of its class).
-- Param:  $model, $class, $component; $since, the first day of the period asked about.
-- Output: diagnosed visits, and those of them that show the component; told are those of the latter where only the words of
--         the ticket say so, no part and no finding; unread are visits that nobody can diagnose, for their words were not read.
SELECT CASE WHEN v.model <> $model THEN 'others' WHEN CAST(v.opened AS DATE) >= CAST($since AS DATE) THEN 'lately' ELSE 'before' END AS side,
       count(CASE WHEN v.diagnosed THEN 1 END) AS visits, count(f.visit) AS faults,
       count(CASE WHEN f.by_text THEN 1 END) AS told, count(CASE WHEN v.unread AND NOT v.diagnosed THEN 1 END) AS unread
FROM visit v
LEFT JOIN fault f ON f.visit = v.visit AND f.component = $component
JOIN model m ON m.model = v.model
WHERE m.class = $class AND (v.diagnosed OR v.unread)
GROUP BY side
ORDER BY side
