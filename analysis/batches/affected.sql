-- Grain:  one row per model and visit of the window that shows the component, with the end of the shop's own warranty.
-- Param:  $component; $last, the day looked from; $window in weeks; $warranty in days after ready.
-- Output: cases, devices (visits without a device count one each) and those of them still under warranty.
SELECT v.model, count(*) AS cases,
       count(DISTINCT CASE WHEN CAST(v.ready AS DATE) + CAST($warranty AS INTEGER) >= CAST($last AS DATE) THEN coalesce(v.device, -1 - v.visit) END) AS covered
FROM visit v
JOIN fault f ON f.visit = v.visit
WHERE v.diagnosed AND f.component = $component
  AND CAST(v.opened AS DATE) <= CAST($last AS DATE) AND CAST(v.opened AS DATE) > CAST($last AS DATE) - 7 * CAST($window AS INTEGER)
GROUP BY v.model
ORDER BY v.model
