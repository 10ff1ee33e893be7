-- Grain:  one row per model.
-- Param:  $component; $attribute (made_week, serial_prefix), its least and greatest value $low and $high; $last; $warranty, days after ready.
-- Output: devices with such a value that were mended for the component and are still under the shop's own warranty.
SELECT v.model, count(DISTINCT coalesce(v.device, -1 - v.visit)) AS covered
FROM visit v
JOIN fault f ON f.visit = v.visit
WHERE f.component = $component
  AND CASE CAST($attribute AS VARCHAR) WHEN 'made_week' THEN CAST(v.made_week AS VARCHAR) ELSE CAST(v.serial_prefix AS VARCHAR) END BETWEEN $low AND $high
  AND CAST(v.ready AS DATE) <= CAST($last AS DATE) AND CAST(v.ready AS DATE) + CAST($warranty AS INTEGER) >= CAST($last AS DATE)
GROUP BY v.model
ORDER BY v.model
