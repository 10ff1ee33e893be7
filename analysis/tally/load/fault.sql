-- One row per visit and component.
CREATE TABLE fault AS
SELECT f.visit, f.component, f.basis, f.is_cause, v.model, v.month, v.opened, v.device
FROM fault_word f
JOIN visit v ON v.visit = f.visit;
