-- Grain:  one row per model. Units are diagnosed visits.
-- Output: n counts all of them; single those of devices that were not in again within 30 days, each a
--         device window of its own: all of known devices less those of devices that were.
SELECT model, sum(n) AS n, sum(single) AS single
FROM (SELECT model, count(*) AS n, count(device) AS single
      FROM visit
      WHERE diagnosed
      GROUP BY model
      UNION ALL
      SELECT v.model, 0, -count(*)
      FROM visit v
      JOIN device_repeat r ON r.device = v.device
      WHERE r.near AND v.diagnosed
      GROUP BY v.model) counted
GROUP BY model
ORDER BY model
