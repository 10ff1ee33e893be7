-- Grain:  one row per model. Units are diagnosed visits.
-- Output: n counts all of them; single those of devices that were not in again within 30 days, each a
--         device window of its own.
SELECT v.model, count(*) AS n, count(CASE WHEN v.device IS NOT NULL AND r.device IS NULL THEN 1 END) AS single
FROM visit v
LEFT JOIN (SELECT device FROM device_repeat WHERE near) r ON r.device = v.device
WHERE v.diagnosed
GROUP BY v.model
ORDER BY v.model
