-- Grain:  one row per component, attribute of the part of it used on the visit, value, model and side of the window.
-- Input:  asked: the components and models it is about.
-- Param:  as in link_device.sql.
-- Output: diagnosed visits with such a part (the last line where there are several); unknown values are left out.
WITH used AS (
    SELECT v.visit, v.model, v.opened, p.component, CAST(p.lot AS VARCHAR) AS lot, CAST(p.supplier AS VARCHAR) AS supplier, CAST(p.grade AS VARCHAR) AS grade,
           row_number() OVER (PARTITION BY v.visit, p.component ORDER BY p.line DESC) AS place
    FROM part p
    JOIN asked a ON a.component = p.component AND a.model = p.model
    JOIN visit v ON v.visit = p.visit
    WHERE v.diagnosed
      AND CAST(v.opened AS DATE) <= CAST($last AS DATE) AND CAST(v.opened AS DATE) > CAST($last AS DATE) - 7 * CAST($weeks AS INTEGER)
), carried AS (
    SELECT model, opened, component, 'lot' AS attribute, lot AS value FROM used WHERE place = 1 AND lot IS NOT NULL
    UNION ALL
    SELECT model, opened, component, 'supplier', supplier FROM used WHERE place = 1 AND supplier IS NOT NULL
    UNION ALL
    SELECT model, opened, component, 'grade', grade FROM used WHERE place = 1 AND grade IS NOT NULL AND grade <> 'unknown'
)
SELECT component, attribute, value, model, CAST(opened AS DATE) > CAST($last AS DATE) - 7 * CAST($window AS INTEGER) AS inside, count(*) AS visits
FROM carried
GROUP BY component, attribute, value, model, inside
ORDER BY component, attribute, value, model, inside
