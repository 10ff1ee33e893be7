-- Grain:  one row per part number of the log.
-- Output: component, the one its lines name; NULL where they name none or several.
SELECT part_no, CASE WHEN min(CAST(component AS VARCHAR)) = max(CAST(component AS VARCHAR)) THEN min(CAST(component AS VARCHAR)) END AS component
FROM part
WHERE part_no IS NOT NULL
GROUP BY part_no
ORDER BY part_no
