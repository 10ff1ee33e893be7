-- Grain:  one row per component, attribute (grade, supplier, lot), its value, model, days followed and whether the device
--         came back; in no order.
-- Input:  visit, part, fault; only devices with a serial.
-- Output: repairs; back is 1 when the follow-up ended with the same device in for the same component.
--         A value is NULL when it was not told or when one visit fitted the component with different ones; such rows
--         are given for the grade alone, where they complete the component.
--         Days run from ready, else collected, else opened, to the next such visit, else to the as-of day ($as_of).
WITH line AS (
    SELECT p.visit, p.component, p.model,
           CASE WHEN min(p.grade) = max(p.grade) THEN min(p.grade) END AS grade,
           CASE WHEN min(p.supplier) = max(p.supplier) THEN min(p.supplier) END AS supplier,
           CASE WHEN min(p.lot) = max(p.lot) THEN min(p.lot) END AS lot
    FROM part p
    WHERE p.component IS NOT NULL
    GROUP BY p.visit, p.component, p.model
), seen AS (
    SELECT v.device, f.component, f.visit,
           CAST(coalesce(v.ready, v.collected, v.opened) AS DATE) AS done,
           CAST(lead(v.opened) OVER (PARTITION BY v.device, f.component ORDER BY v.opened, f.visit) AS DATE) AS again
    FROM fault f
    JOIN visit v ON v.visit = f.visit
    JOIN device_repeat d ON d.device = v.device
    WHERE NOT f.is_cause
), followed AS (
    SELECT l.component, l.model, l.grade, l.supplier, l.lot,
           CAST(coalesce(s.again, CAST($as_of AS DATE)) - coalesce(s.done, CAST(coalesce(v.ready, v.collected, v.opened) AS DATE)) AS INTEGER) AS days,
           CASE WHEN s.again IS NULL THEN 0 ELSE 1 END AS back
    FROM line l
    JOIN visit v ON v.visit = l.visit
    LEFT JOIN seen s ON s.visit = l.visit AND s.component = l.component
    WHERE v.device IS NOT NULL
      AND coalesce(v.outcome, 'repaired') = 'repaired'
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
