-- Grain:  one row per component, attribute (grade, supplier, lot), its value, model, days followed and whether the device
--         came back; in no order.
-- Input:  part, fault; only devices with a serial.
-- Output: repairs; back is 1 when the follow-up ended with the same device in for the same component.
--         A value is NULL when it was not told or when one visit fitted the component with different ones; such rows
--         are given for the grade alone, where they complete the component.
--         Days run from the repair to the next such visit, else to the as-of day ($as_of).
WITH line AS (
    SELECT visit, component, model, mended,
           CASE WHEN min(grade) = max(grade) THEN min(grade) END AS grade,
           CASE WHEN min(supplier) = max(supplier) THEN min(supplier) END AS supplier,
           CASE WHEN min(lot) = max(lot) THEN min(lot) END AS lot
    FROM part
    WHERE component IS NOT NULL AND device IS NOT NULL AND mended IS NOT NULL
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
    LEFT JOIN seen s ON s.visit = l.visit AND s.component = l.component
), within_horizon AS (
    SELECT component, model, grade, supplier, lot,
           CASE WHEN days < 0 THEN 0 WHEN days > $horizon THEN $horizon ELSE days END AS days,
           CASE WHEN days > $horizon THEN 0 ELSE back END AS back
    FROM followed
)
SELECT component, 'grade' AS attribute, CAST(grade AS VARCHAR) AS value, model, days, back, count(*) AS repairs
FROM within_horizon
GROUP BY component, grade, model, days, back
UNION ALL
SELECT component, 'supplier', CAST(supplier AS VARCHAR), model, days, back, count(*)
FROM within_horizon
WHERE supplier IS NOT NULL
GROUP BY component, supplier, model, days, back
UNION ALL
SELECT component, 'lot', CAST(lot AS VARCHAR), model, days, back, count(*)
FROM within_horizon
WHERE lot IS NOT NULL
GROUP BY component, lot, model, days, back
