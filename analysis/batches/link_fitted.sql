-- Grain:  one row per component, attribute of the part of it used on the visit, value, model and side of the window.
-- Input:  asked: the components and models it is about.
-- Param:  as in link_device.sql.
-- Output: diagnosed visits with such a part (the last line where there are several); unknown values are left out.
WITH used AS (
    SELECT p.model, p.opened, p.component, CAST(p.lot AS VARCHAR) AS lot, CAST(p.supplier AS VARCHAR) AS supplier, CAST(p.grade AS VARCHAR) AS grade
    FROM part p
    JOIN asked a ON a.component = p.component AND a.model = p.model
    WHERE p.last AND NOT EXISTS (SELECT 1 FROM visit v WHERE v.visit = p.visit AND NOT v.diagnosed)
      AND CAST(p.opened AS DATE) <= CAST($last AS DATE) AND CAST(p.opened AS DATE) > CAST($last AS DATE) - 7 * CAST($weeks AS INTEGER)
), carried AS (
    SELECT model, opened, component, 'lot' AS attribute, lot AS value FROM used WHERE lot IS NOT NULL
    UNION ALL
    SELECT model, opened, component, 'supplier', supplier FROM used WHERE supplier IS NOT NULL
    UNION ALL
    SELECT model, opened, component, 'grade', grade FROM used WHERE grade IS NOT NULL AND grade <> 'unknown'
)
SELECT component, attribute, value, model, CAST(opened AS DATE) > CAST($last AS DATE) - 7 * CAST($window AS INTEGER) AS inside, count(*) AS visits
FROM carried
GROUP BY component, attribute, value, model, inside
ORDER BY component, attribute, value, model, inside
