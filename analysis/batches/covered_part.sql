-- Grain:  one row per model.
-- Param:  $component, $attribute (lot, supplier, grade) and $value of the part; $last, the day looked from; $warranty, days after ready.
-- Output: devices fitted with such a part and still under the shop's own warranty; a visit without a device counts as one.
SELECT v.model, count(DISTINCT coalesce(v.device, -1 - v.visit)) AS covered
FROM visit v
JOIN part p ON p.visit = v.visit
WHERE p.component = $component
  AND CASE CAST($attribute AS VARCHAR) WHEN 'lot' THEN CAST(p.lot AS VARCHAR) WHEN 'supplier' THEN CAST(p.supplier AS VARCHAR) ELSE CAST(p.grade AS VARCHAR) END = $value
  AND CAST(v.ready AS DATE) <= CAST($last AS DATE) AND CAST(v.ready AS DATE) + CAST($warranty AS INTEGER) >= CAST($last AS DATE)
GROUP BY v.model
ORDER BY v.model
