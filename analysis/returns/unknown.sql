-- One row: visits on which a part was fitted, and how many of them name no device and can't be followed.
SELECT count(*) AS fitted, count(CASE WHEN NOT has_device THEN 1 END) AS without_device
FROM part
WHERE initial
