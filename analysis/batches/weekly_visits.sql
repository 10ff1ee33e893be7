-- Grain:  one row per model and week it was in.
-- Param:  $last, the day looked from; $weeks, how many weeks up to it.
-- Output: back is 0 for the seven days that end on $last, 1 for the week before; visits are diagnosed ones.
SELECT model, CAST(floor((CAST($last AS DATE) - CAST(opened AS DATE)) / 7.0) AS INTEGER) AS back, count(*) AS visits
FROM visit
WHERE diagnosed AND CAST(opened AS DATE) <= CAST($last AS DATE) AND CAST(opened AS DATE) > CAST($last AS DATE) - 7 * CAST($weeks AS INTEGER)
GROUP BY model, back
ORDER BY model, back
