-- Devices that were in more than once. A serial seen on more than 20 visits is taken for a placeholder
-- ("unknown", "0000") and forgotten: its visits are by no device. Grain of device_repeat: one row per device;
-- near: two of its visits opened less than 30 days apart. Of two visits their first and last day tell; only the few
-- devices with more are laid out in order.
CREATE TEMP TABLE device_count AS
SELECT device, count(*) AS visits, min(opened) AS opened, max(opened) AS again
FROM visit
WHERE device IS NOT NULL
GROUP BY device
HAVING count(*) > 1;

CREATE TEMP TABLE by_placeholder AS
SELECT visit FROM visit WHERE device IN (SELECT device FROM device_count WHERE visits > 20);

UPDATE visit SET device = NULL WHERE visit IN (SELECT visit FROM by_placeholder);

CREATE TABLE device_repeat AS
SELECT device, visits, again < opened + INTERVAL 30 DAY AS near FROM device_count WHERE visits = 2
UNION ALL
SELECT device, count(*) AS visits, coalesce(bool_or(opened < before + INTERVAL 30 DAY), false) AS near
FROM (SELECT device, opened, lag(opened) OVER (PARTITION BY device ORDER BY opened) AS before
      FROM visit
      WHERE device IN (SELECT device FROM device_count WHERE visits > 2 AND visits <= 20))
GROUP BY device;
