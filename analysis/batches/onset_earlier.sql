-- Grain:  one row per model and week in which a device came back for a component after a part of it with a value was fitted.
-- Param:  $component, $attribute (lot, supplier, grade) and $value of the part; $last, the day looked from; $weeks, how many weeks up to it.
-- Output: back is 0 for the seven days that end on $last; faults are diagnosed visits that show the component, each counted once.
SELECT v.model, CAST(floor((CAST($last AS DATE) - CAST(v.opened AS DATE)) / 7.0) AS INTEGER) AS back, count(DISTINCT v.visit) AS faults
FROM part p
JOIN repeat_visit u ON u.visit = p.visit
JOIN repeat_visit v ON v.device = u.device AND v.opened > u.opened
JOIN repeat_fault f ON f.visit = v.visit AND f.component = p.component
WHERE p.component = $component AND v.diagnosed
  AND CASE CAST($attribute AS VARCHAR) WHEN 'lot' THEN CAST(p.lot AS VARCHAR) WHEN 'supplier' THEN CAST(p.supplier AS VARCHAR) ELSE CAST(p.grade AS VARCHAR) END = $value
  AND CAST(v.opened AS DATE) <= CAST($last AS DATE) AND CAST(v.opened AS DATE) > CAST($last AS DATE) - 7 * CAST($weeks AS INTEGER)
GROUP BY v.model, back
ORDER BY v.model, back
