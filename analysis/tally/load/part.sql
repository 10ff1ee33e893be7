-- One row per part line of a visit in the table visit.
CREATE TABLE part AS
SELECT v.visit, s.first_part + p.row AS line, CAST(p.component AS component_word) AS component,
       CAST(p.part_no AS part_no_word) AS part_no, CAST(p.supplier AS supplier_word) AS supplier,
       CAST(p.lot AS lot_word) AS lot, CAST(p.grade AS grade_word) AS grade, p.quantity, p.unit_cost,
       CAST(p.currency AS currency_word) AS currency, v.model, v.month, v.opened, v.device,
       CASE WHEN coalesce(v.outcome, 'repaired') = 'repaired' THEN CAST(coalesce(v.ready, v.collected, v.opened) AS DATE) END AS mended
FROM stored_part p
JOIN segment s ON s.number = p.visit >> 32
JOIN visit v ON v.visit = CAST(s.first_visit + (p.visit & 4294967295) AS INTEGER)
WHERE p.visit NOT IN (SELECT visit FROM retired);
