-- Grain:  one row per model and day of visits with the component ($component) bad.
-- Output: pieces: one for each visit, but for devices that were not worth repairing or went back unrepaired.
SELECT v.model, CAST(v.opened AS DATE) AS day, count(*) AS pieces
FROM fault f
JOIN visit v ON v.visit = f.visit
WHERE CAST(f.component AS VARCHAR) = $component
  AND coalesce(CAST(v.outcome AS VARCHAR), 'repaired') NOT IN ('uneconomic', 'returned-unrepaired')
GROUP BY v.model, CAST(v.opened AS DATE)
ORDER BY v.model, CAST(v.opened AS DATE)
