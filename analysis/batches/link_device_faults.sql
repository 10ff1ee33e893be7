-- Grain:  one row per component, attribute of the device, value, model and side of the window.
-- Input:  asked: the components and models it is about.
-- Param:  as in link_device.sql.
-- Output: those of its visits that show the component.
WITH device_value AS (
    SELECT visit, 'made_week' AS attribute, CAST(made_week AS VARCHAR) AS value, model, opened FROM visit WHERE diagnosed AND made_week IS NOT NULL
    UNION ALL
    SELECT visit, 'serial_prefix', CAST(serial_prefix AS VARCHAR), model, opened FROM visit WHERE diagnosed AND serial_prefix IS NOT NULL
)
SELECT f.component, d.attribute, d.value, d.model, CAST(d.opened AS DATE) > CAST($last AS DATE) - 7 * CAST($window AS INTEGER) AS inside, count(*) AS visits
FROM device_value d
JOIN fault f ON f.visit = d.visit
JOIN asked a ON a.component = f.component AND a.model = d.model
WHERE CAST(d.opened AS DATE) <= CAST($last AS DATE) AND CAST(d.opened AS DATE) > CAST($last AS DATE) - 7 * CAST($weeks AS INTEGER)
GROUP BY f.component, d.attribute, d.value, d.model, inside
ORDER BY f.component, d.attribute, d.value, d.model, inside
