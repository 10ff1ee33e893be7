-- Grain:  one row per visit and component of which a part was fitted; in no order.
-- Input:  part, fault; only devices with a serial, and visits that were repairs.
-- Output: grade, supplier and lot, empty when not told or when the visit fitted the component with different ones; days from
--         the repair to the next visit of the device for the component, else to the as-of day ($as_of), $horizon at most;
--         back is 1 when they ended with that visit.
WITH line AS (
    SELECT visit, component, model, mended, grade, supplier, lot
    FROM part
    WHERE single AND component IS NOT NULL AND has_device AND mended IS NOT NULL
    UNION ALL
    SELECT visit, component, model, mended,
           CASE WHEN min(grade) = max(grade) THEN min(grade) END, CASE WHEN min(supplier) = max(supplier) THEN min(supplier) END,
           CASE WHEN min(lot) = max(lot) THEN min(lot) END
    FROM part
    WHERE NOT single AND component IS NOT NULL AND has_device AND mended IS NOT NULL
    GROUP BY visit, component, model, mended
), seen AS (
    SELECT f.component, f.visit, CAST(lead(f.opened) OVER (PARTITION BY f.device, f.component ORDER BY f.opened, f.visit) AS DATE) AS again
    FROM fault f
    JOIN device_repeat d ON d.device = f.device
    WHERE NOT f.is_cause
), followed AS (
    SELECT l.component, l.model, l.grade, l.supplier, l.lot,
           CAST(coalesce(s.again, CAST($as_of AS DATE)) - l.mended AS INTEGER) AS days, CASE WHEN s.again IS NULL THEN 0 ELSE 1 END AS back
    FROM line l
    LEFT JOIN (SELECT component, visit, again FROM seen WHERE again IS NOT NULL) s ON s.visit = l.visit AND s.component = l.component
)
SELECT component, grade, CAST(supplier AS VARCHAR) AS supplier, CAST(lot AS VARCHAR) AS lot, model,
       CASE WHEN days < 0 THEN 0 WHEN days > $horizon THEN $horizon ELSE days END AS days,
       CASE WHEN days > $horizon THEN 0 ELSE back END AS back
FROM followed
