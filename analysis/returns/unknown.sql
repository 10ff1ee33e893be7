-- One row: visits on which a part was fitted, and how many of them name no device and can't be followed.
SELECT count(*) AS fitted, count(CASE WHEN device IS NULL THEN 1 END) AS without_device
FROM (SELECT DISTINCT visit, device FROM part WHERE component IS NOT NULL) p
