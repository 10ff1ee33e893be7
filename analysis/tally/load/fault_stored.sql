-- One row per current visit and component, also of visits opened after the as-of day.
CREATE TEMP TABLE fault_word AS
SELECT CAST(s.first_visit + (f.visit & 4294967295) AS INTEGER) AS visit,
       CAST(f.component AS component_word) AS component, CAST(f.basis AS basis_word) AS basis,
       list_contains($causes, f.component) AS is_cause
FROM stored_fault f
JOIN segment s ON s.number = f.visit >> 32
WHERE f.visit NOT IN (SELECT visit FROM retired);
