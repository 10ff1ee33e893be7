-- Grain:  one row per model.
-- Param:  $component; $last, the day looked from; $window in weeks; $warranty in days after ready.
-- Output: devices with the component in the window and still under the shop's own warranty; a visit without a device counts as one.
SELECT v.model, count(DISTINCT coalesce(v.device, -1 - v.visit)) AS covered
FROM visit v
JOIN fault f ON f.visit = v.visit
WHERE v.diagnosed AND f.component = $component
  AND CAST(v.opened AS DATE) <= CAST($last AS DATE) AND CAST(v.opened AS DATE) > CAST($last AS DATE) - 7 * CAST($window AS INTEGER)
  AND CAST(v.ready AS DATE) <= CAST($last AS DATE) AND CAST(v.ready AS DATE) + CAST($warranty AS INTEGER) >= CAST($last AS DATE)
GROUP BY v.model
ORDER BY v.model
