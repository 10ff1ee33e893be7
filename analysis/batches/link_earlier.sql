-- Grain:  one row per component, attribute of a part of it that was fitted, value, model, whether the device came back
--         for the component, and whether it did so inside the window.
-- Input:  asked: the components and models it is about.
-- Param:  as in link_device.sql.
-- Output: visits of known devices with such a part (the last line where there are several), fitted within the weeks;
--         unknown values are left out.
WITH used AS (
    SELECT p.visit, p.model, p.opened, p.component, CAST(p.lot AS VARCHAR) AS lot, CAST(p.supplier AS VARCHAR) AS supplier, CAST(p.grade AS VARCHAR) AS grade
    FROM part p
    JOIN asked a ON a.component = p.component AND a.model = p.model
    WHERE p.has_device AND p.last
      AND CAST(p.opened AS DATE) <= CAST($last AS DATE) AND CAST(p.opened AS DATE) > CAST($last AS DATE) - 7 * CAST($weeks AS INTEGER)
), repeated AS (
    SELECT v.visit, v.device
    FROM visit v
    JOIN device_repeat d ON d.device = v.device
    WHERE v.model IN (SELECT model FROM asked)
), later AS (
    SELECT f.device, f.opened, f.component
    FROM fault f
    JOIN device_repeat d ON d.device = f.device
    WHERE f.component IN (SELECT component FROM asked) AND CAST(f.opened AS DATE) <= CAST($last AS DATE)
), returned AS (
    SELECT u.visit, u.component, min(l.opened) AS back
    FROM used u
    JOIN repeated r ON r.visit = u.visit
    JOIN later l ON l.device = r.device AND l.component = u.component AND l.opened > u.opened
    GROUP BY u.visit, u.component
), followed AS (
    SELECT u.model, u.component, u.lot, u.supplier, u.grade, r.back
    FROM used u
    LEFT JOIN returned r ON r.visit = u.visit AND r.component = u.component
), carried AS (
    SELECT model, component, back, 'earlier_lot' AS attribute, lot AS value FROM followed WHERE lot IS NOT NULL
    UNION ALL
    SELECT model, component, back, 'earlier_supplier', supplier FROM followed WHERE supplier IS NOT NULL
    UNION ALL
    SELECT model, component, back, 'earlier_grade', grade FROM followed WHERE grade IS NOT NULL AND grade <> 'unknown'
)
SELECT component, attribute, value, model, coalesce(CAST(back AS DATE) > CAST($last AS DATE) - 7 * CAST($window AS INTEGER), FALSE) AS inside,
       back IS NOT NULL AS shows, count(*) AS visits
FROM carried
GROUP BY component, attribute, value, model, inside, shows
ORDER BY component, attribute, value, model, inside, shows
