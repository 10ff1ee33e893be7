-- The faults that the columns of a visit don't tell: causes, and components between the first and the last. Few visits have either.
CREATE TABLE fault_more AS
SELECT v.visit, f.component, f.is_cause, v.model, v.month, v.opened, v.device, v.by_text
FROM (SELECT CAST(s.first_visit + (f.visit & 4294967295) AS INTEGER) AS visit, CAST(f.component AS component_word) AS component,
             list_contains($causes, f.component) AS is_cause
      FROM stored_fault f
      JOIN segment s ON s.number = f.visit >> 32
      WHERE f.visit IN (SELECT visit FROM many)) f
JOIN visit v ON v.visit = f.visit
WHERE (v.component IS NULL OR f.component <> v.component) AND (v.component_b IS NULL OR f.component <> v.component_b);
