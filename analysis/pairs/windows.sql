-- Grain:  one row per diagnosed visit and component (none: a row without one) of a device that was in twice
--         within 30 days; in order of device and time.
SELECT v.device, v.visit, v.model, v.opened, f.component
FROM visit v
JOIN device_repeat r ON r.device = v.device
LEFT JOIN (SELECT visit, component FROM fault WHERE NOT is_cause) f ON f.visit = v.visit
WHERE r.near AND v.diagnosed
ORDER BY v.device, v.opened, v.visit, f.component
