-- Grain:  one row per model and week in which a device with a value showed a component.
-- Param:  $component; $attribute (made_week, serial_prefix), its least and greatest value $low and $high; $last, the day looked from; $weeks, how many weeks up to it.
-- Output: back is 0 for the seven days that end on $last; faults are diagnosed visits that show the component.
SELECT v.model, CAST(floor((CAST($last AS DATE) - CAST(v.opened AS DATE)) / 7.0) AS INTEGER) AS back, count(*) AS faults
FROM visit v
JOIN fault f ON f.visit = v.visit
WHERE f.component = $component AND v.diagnosed
  AND CASE CAST($attribute AS VARCHAR) WHEN 'made_week' THEN CAST(v.made_week AS VARCHAR) ELSE CAST(v.serial_prefix AS VARCHAR) END BETWEEN $low AND $high
  AND CAST(v.opened AS DATE) <= CAST($last AS DATE) AND CAST(v.opened AS DATE) > CAST($last AS DATE) - 7 * CAST($weeks AS INTEGER)
GROUP BY v.model, back
ORDER BY v.model, back
