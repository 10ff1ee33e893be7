-- One row per visit and component.
CREATE VIEW fault AS
SELECT visit, component, false AS is_cause, model, month, opened, device, by_text FROM visit WHERE component IS NOT NULL
UNION ALL
SELECT visit, component_b, false, model, month, opened, device, by_text FROM visit WHERE component_b IS NOT NULL
UNION ALL
SELECT visit, component, is_cause, model, month, opened, device, by_text FROM fault_more;
