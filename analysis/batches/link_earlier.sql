-- Grain:  one row per component, attribute of a part of it that was fitted, value, model, whether the device came back
--         for the component, and whether it did so inside the window.
-- Input:  asked: the components and models it is about.
-- Param:  as in link_device.sql.
-- Output: visits of known devices with such a part (the last line where there are several), fitted within the weeks;
--         unknown values are left out.
WITH used AS (
    SELECT p.visit, p.model, p.component, p.lot, p.supplier, p.grade
    FROM part p
    JOIN asked a ON a.component = p.component AND a.model = p.model
    WHERE p.has_device AND p.last
      AND CAST(p.opened AS DATE) <= CAST($last AS DATE) AND CAST(p.opened AS DATE) > CAST($last AS DATE) - 7 * CAST($weeks AS INTEGER)
), later AS (
    SELECT device, opened, component
    FROM repeat_fault
    WHERE component IN (SELECT component FROM asked) AND CAST(opened AS DATE) <= CAST($last AS DATE)
), returned AS (
    SELECT u.visit, u.component, min(l.opened) AS back
    FROM used u
    JOIN repeat_visit r ON r.visit = u.visit
    JOIN later l ON l.device = r.device AND l.component = u.component AND l.opened > r.opened
    GROUP BY u.visit, u.component
), followed AS (
    SELECT u.model, u.component, u.lot, u.supplier, u.grade, r.back IS NOT NULL AS shows,
           coalesce(CAST(r.back AS DATE) > CAST($last AS DATE) - 7 * CAST($window AS INTEGER), FALSE) AS inside
    FROM used u
    LEFT JOIN returned r ON r.visit = u.visit AND r.component = u.component
)
SELECT component, attribute, value, model, inside, shows, visits
FROM (SELECT component, 'earlier_lot' AS attribute, CAST(lot AS VARCHAR) AS value, model, inside, shows, count(*) AS visits
      FROM followed
      WHERE lot IS NOT NULL
      GROUP BY component, lot, model, inside, shows
      UNION ALL
      SELECT component, 'earlier_supplier', CAST(supplier AS VARCHAR), model, inside, shows, count(*)
      FROM followed
      WHERE supplier IS NOT NULL
      GROUP BY component, supplier, model, inside, shows
      UNION ALL
      SELECT component, 'earlier_grade', CAST(grade AS VARCHAR), model, inside, shows, count(*)
      FROM followed
      WHERE grade IS NOT NULL AND grade <> 'unknown'
      GROUP BY component, grade, model, inside, shows) counted
ORDER BY component, attribute, value, model, inside, shows
