-- Grain:  one row per model. Units are diagnosed visits.
-- Output: n counts all of them; single those of devices that were not in again within 30 days, each a
--         device window of its own: all of known devices less those of devices that were.
SELECT model, sum(n) AS n, sum(single) AS single
FROM (SELECT model, count(*) AS n, count(device) AS single
      FROM visit
      WHERE diagnosed
      GROUP BY model
      UNION ALL
      SELECT model, 0, -count(*)
      FROM repeat_visit
      WHERE near AND diagnosed
      GROUP BY model) counted
GROUP BY model
ORDER BY model
