-- Devices that were in more than once. A serial seen on more than 20 visits is taken for a placeholder
-- ("unknown", "0000") and forgotten: its visits are by no device. Grain of device_repeat: one row per device;
-- near: two of its visits opened less than 30 days apart.
CREATE TEMP TABLE device_count AS
SELECT device, count(*) AS visits FROM visit WHERE device IS NOT NULL GROUP BY device HAVING count(*) > 1;

CREATE TEMP TABLE by_placeholder AS
SELECT visit FROM visit WHERE device IN (SELECT device FROM device_count WHERE visits > 20);

UPDATE visit SET device = NULL WHERE visit IN (SELECT visit FROM by_placeholder);

CREATE TABLE device_repeat AS
SELECT device, count(*) AS visits, coalesce(bool_or(opened < before + INTERVAL 30 DAY), false) AS near
FROM (SELECT device, opened, lag(opened) OVER (PARTITION BY device ORDER BY opened) AS before
      FROM visit
      WHERE device IN (SELECT device FROM device_count WHERE visits <= 20))
GROUP BY device;
