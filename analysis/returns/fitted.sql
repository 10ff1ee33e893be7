-- Grain:  one row per visit and component of which a part was fitted; in no order.
-- Input:  part, repeat_fault; only devices with a serial, and visits that were repairs.
-- Param:  $as_of, the as-of day; $horizon, days a repair is followed at most; how many words words.sql has of each kind.
-- Output: two numbers, for a log may have millions of repairs. fate is ((component x $models + model) x 256 + days) x 2 + back:
--         days from the repair to the next visit of the device for the component, else to the as-of day, and whether they
--         ended with that visit. origin is (lot x $suppliers + supplier) x $grades + grade. Words have their numbers in
--         words.sql, 0 when not told or when the visit fitted the component with different ones; component and model less 1.
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
    SELECT component, visit, CAST(lead(opened) OVER (PARTITION BY device, component ORDER BY opened, visit) AS DATE) AS again
    FROM repeat_fault
    WHERE NOT is_cause
), followed AS (
    SELECT l.component, l.model, l.grade, l.supplier, l.lot,
           CAST(coalesce(s.again, CAST($as_of AS DATE)) - l.mended AS INTEGER) AS days, CASE WHEN s.again IS NULL THEN 0 ELSE 1 END AS back
    FROM line l
    LEFT JOIN (SELECT component, visit, again FROM seen WHERE again IS NOT NULL) s ON s.visit = l.visit AND s.component = l.component
), component_number AS (
    SELECT component, row_number() OVER (ORDER BY component) - 1 AS number FROM (SELECT DISTINCT component FROM part WHERE component IS NOT NULL) d
), grade_number AS (
    SELECT grade, row_number() OVER (ORDER BY grade) AS number FROM (SELECT DISTINCT grade FROM part WHERE grade IS NOT NULL) d
), supplier_number AS (
    SELECT supplier, row_number() OVER (ORDER BY supplier) AS number FROM (SELECT DISTINCT supplier FROM part WHERE supplier IS NOT NULL) d
), lot_number AS (
    SELECT lot, row_number() OVER (ORDER BY lot) AS number FROM (SELECT DISTINCT lot FROM part WHERE lot IS NOT NULL) d
), model_number AS (
    SELECT model, row_number() OVER (ORDER BY model) - 1 AS number FROM model
)
SELECT ((c.number * CAST($models AS BIGINT) + m.number) * 256
        + CASE WHEN f.days < 0 THEN 0 WHEN f.days > $horizon THEN $horizon ELSE f.days END) * 2
       + CASE WHEN f.days > $horizon THEN 0 ELSE f.back END AS fate,
       (coalesce(l.number, 0) * CAST($suppliers AS BIGINT) + coalesce(s.number, 0)) * CAST($grades AS BIGINT) + coalesce(g.number, 0) AS origin
FROM followed f
JOIN component_number c ON c.component = f.component
JOIN model_number m ON m.model = f.model
LEFT JOIN grade_number g ON g.grade = f.grade
LEFT JOIN supplier_number s ON s.supplier = f.supplier
LEFT JOIN lot_number l ON l.lot = f.lot
