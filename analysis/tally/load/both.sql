-- One row per visit and unordered pair of components found bad on it, a < b; causes make no pair.
-- Components in fault_more that are no causes are of visits with more than two.
CREATE VIEW both_bad AS
WITH several AS (
    SELECT visit, component, model, month, device FROM visit WHERE components > 2
    UNION ALL
    SELECT visit, component_b, model, month, device FROM visit WHERE components > 2
    UNION ALL
    SELECT visit, component, model, month, device FROM fault_more WHERE NOT is_cause
)
SELECT visit, component AS a, component_b AS b, model, month, device FROM visit WHERE components = 2
UNION ALL
SELECT x.visit, x.component, y.component, x.model, x.month, x.device
FROM several x
JOIN several y ON y.visit = x.visit AND x.component < y.component;
