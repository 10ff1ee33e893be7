-- The faults that the columns of a visit don't tell: causes, and components between the first and the last. Few visits have either.
CREATE TABLE fault_more AS
SELECT v.visit, CAST(f.component AS component_word) AS component, list_contains($causes, f.component) AS is_cause,
       v.model, v.month, v.opened, v.device, v.by_text
FROM visit v
JOIN (SELECT CAST(s.first_visit + (m.visit & 4294967295) AS INTEGER) AS visit, m.component
      FROM (SELECT visit, component FROM stored_fault WHERE visit IN (SELECT visit FROM many)) m
      JOIN segment s ON s.number = m.visit >> 32) f ON f.visit = v.visit
WHERE (v.component IS NULL OR f.component <> CAST(v.component AS VARCHAR))
  AND (v.component_b IS NULL OR f.component <> CAST(v.component_b AS VARCHAR));
