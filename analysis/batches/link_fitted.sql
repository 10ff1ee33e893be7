-- Grain:  one row per component, attribute of the part of it used on the visit, value, model and side of the window.
-- Input:  asked: the components and models it is about.
-- Param:  as in link_device.sql.
-- Output: diagnosed visits with such a part (the last line where there are several); unknown values are left out.
WITH used AS (
    SELECT p.model, p.component, p.lot, p.supplier, p.grade,
           CAST(p.opened AS DATE) > CAST($last AS DATE) - 7 * CAST($window AS INTEGER) AS inside
    FROM part p
    JOIN asked a ON a.component = p.component AND a.model = p.model
    WHERE p.last AND NOT EXISTS (SELECT 1 FROM visit v WHERE v.visit = p.visit AND NOT v.diagnosed)
      AND CAST(p.opened AS DATE) <= CAST($last AS DATE) AND CAST(p.opened AS DATE) > CAST($last AS DATE) - 7 * CAST($weeks AS INTEGER)
)
SELECT component, attribute, value, model, inside, visits
FROM (SELECT component, 'lot' AS attribute, CAST(lot AS VARCHAR) AS value, model, inside, count(*) AS visits
      FROM used
      WHERE lot IS NOT NULL
      GROUP BY component, lot, model, inside
      UNION ALL
      SELECT component, 'supplier', CAST(supplier AS VARCHAR), model, inside, count(*)
      FROM used
      WHERE supplier IS NOT NULL
      GROUP BY component, supplier, model, inside
      UNION ALL
      SELECT component, 'grade', CAST(grade AS VARCHAR), model, inside, count(*)
      FROM used
      WHERE grade IS NOT NULL AND grade <> 'unknown'
      GROUP BY component, grade, model, inside) counted
ORDER BY component, attribute, value, model, inside
