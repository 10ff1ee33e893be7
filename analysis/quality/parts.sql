-- Grain:  one row. Part lines that a question has to leave out, counted.
SELECT count(CASE WHEN component IS NULL THEN 1 END) AS no_component,
       count(CASE WHEN unit_cost IS NULL THEN 1 END) AS no_cost,
       count(CASE WHEN supplier IS NULL AND lot IS NULL AND (grade IS NULL OR grade = 'unknown') THEN 1 END) AS no_origin
FROM part
