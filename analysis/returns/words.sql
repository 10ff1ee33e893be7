-- Grain:  one row per kind (component, grade, supplier, lot) and word on part lines, and per model.
-- Output: number, from 1 within the kind, in the order of the words; fitted.sql numbers alike. lines are part lines with
--         the component, NULL for other kinds.
SELECT kind, word, number, lines
FROM (SELECT 'component' AS kind, CAST(component AS VARCHAR) AS word, row_number() OVER (ORDER BY component) AS number, lines
      FROM (SELECT component, count(*) AS lines FROM part WHERE component IS NOT NULL GROUP BY component) d
      UNION ALL
      SELECT 'grade', CAST(grade AS VARCHAR), row_number() OVER (ORDER BY grade), NULL
      FROM (SELECT DISTINCT grade FROM part WHERE grade IS NOT NULL) d
      UNION ALL
      SELECT 'supplier', CAST(supplier AS VARCHAR), row_number() OVER (ORDER BY supplier), NULL
      FROM (SELECT DISTINCT supplier FROM part WHERE supplier IS NOT NULL) d
      UNION ALL
      SELECT 'lot', CAST(lot AS VARCHAR), row_number() OVER (ORDER BY lot), NULL
      FROM (SELECT DISTINCT lot FROM part WHERE lot IS NOT NULL) d
      UNION ALL
      SELECT 'model', CAST(model AS VARCHAR), row_number() OVER (ORDER BY model), NULL
      FROM model) numbered
ORDER BY kind, number
