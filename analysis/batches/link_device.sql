-- Grain:  one row per attribute of the device, value, model and side of the window.
-- Param:  $last, the day looked from; $weeks up to it; $window, the weeks of them that are inside (0: none).
-- Output: diagnosed visits whose device carries the value; unknown values are left out.
WITH device_value AS (
    SELECT 'made_week' AS attribute, CAST(made_week AS VARCHAR) AS value, model, opened FROM visit WHERE diagnosed AND made_week IS NOT NULL
    UNION ALL
    SELECT 'serial_prefix', CAST(serial_prefix AS VARCHAR), model, opened FROM visit WHERE diagnosed AND serial_prefix IS NOT NULL
)
SELECT attribute, value, model, CAST(opened AS DATE) > CAST($last AS DATE) - 7 * CAST($window AS INTEGER) AS inside, count(*) AS visits
FROM device_value
WHERE CAST(opened AS DATE) <= CAST($last AS DATE) AND CAST(opened AS DATE) > CAST($last AS DATE) - 7 * CAST($weeks AS INTEGER)
GROUP BY attribute, value, model, inside
ORDER BY attribute, value, model, inside
