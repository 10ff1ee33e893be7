-- Devices that were in more than once. A serial seen on more than 20 visits is taken for a placeholder
-- ("unknown", "0000") and forgotten: its visits are by no device.
-- Few devices come again, so that all that is asked about them is asked of a table of their visits.
CREATE TEMP TABLE device_count AS
SELECT device, count(*) AS visits
FROM visit
WHERE device IS NOT NULL
GROUP BY device
HAVING count(*) > 1;

CREATE TEMP TABLE by_placeholder AS
SELECT visit FROM visit WHERE device IN (SELECT device FROM device_count WHERE visits > 20);

UPDATE visit SET device = NULL WHERE visit IN (SELECT visit FROM by_placeholder);

CREATE TEMP TABLE came_again AS
SELECT v.visit, v.device, v.model, v.opened, v.diagnosed, v.component, v.component_b, d.visits
FROM visit v
JOIN (SELECT device, visits FROM device_count WHERE visits <= 20) d ON d.device = v.device;

-- Grain: one row per visit of a device with 2 to 20 visits. near: two of the device's visits opened less than 30 days
-- apart. Of two visits their first and last day tell; only the few devices with more are laid out in order.
CREATE TABLE repeat_visit AS
SELECT c.visit, c.device, c.model, c.opened, c.diagnosed, c.component, c.component_b, n.near
FROM came_again c
JOIN (SELECT device, max(opened) < min(opened) + INTERVAL 30 DAY AS near
      FROM came_again
      WHERE visits = 2
      GROUP BY device
      UNION ALL
      SELECT device, coalesce(bool_or(opened < before + INTERVAL 30 DAY), false)
      FROM (SELECT device, opened, lag(opened) OVER (PARTITION BY device ORDER BY opened) AS before FROM came_again WHERE visits > 2)
      GROUP BY device) n ON n.device = c.device;

DROP TABLE came_again;
