-- One row per visit of a device that was in more than once, and component.
CREATE VIEW repeat_fault AS
SELECT visit, component, false AS is_cause, model, opened, device, near FROM repeat_visit WHERE component IS NOT NULL
UNION ALL
SELECT visit, component_b, false, model, opened, device, near FROM repeat_visit WHERE component_b IS NOT NULL
UNION ALL
SELECT f.visit, f.component, f.is_cause, f.model, f.opened, r.device, r.near
FROM fault_more f
JOIN (SELECT visit, device, near FROM repeat_visit) r ON r.visit = f.visit;
