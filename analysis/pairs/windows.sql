-- Grain:  one row per diagnosed visit and component (none: a row without one) of a device that was in twice
--         within 30 days; in order of device and time.
SELECT v.device, v.visit, v.model, v.opened, f.component
FROM repeat_visit v
LEFT JOIN (SELECT visit, component FROM repeat_fault WHERE near AND NOT is_cause) f ON f.visit = v.visit
WHERE v.near AND v.diagnosed
ORDER BY v.device, v.opened, v.visit, f.component
