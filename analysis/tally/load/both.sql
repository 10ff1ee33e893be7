-- One row per visit and unordered pair of components found bad on it, a < b; causes make no pair.
CREATE VIEW both_bad AS
WITH several AS (
    SELECT f.visit, f.component, f.model, f.month, f.device
    FROM fault f
    JOIN (SELECT visit FROM visit WHERE components > 2) v ON v.visit = f.visit
    WHERE NOT f.is_cause
)
SELECT visit, component AS a, component_b AS b, model, month, device FROM visit WHERE components = 2
UNION ALL
SELECT x.visit, x.component, y.component, x.model, x.month, x.device
FROM several x
JOIN several y ON y.visit = x.visit AND x.component < y.component;
