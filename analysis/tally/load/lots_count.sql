-- One row: about how many different words the longest of the part texts and serial prefixes has.
SELECT greatest(p.part_no, p.lot, p.supplier, v.prefix) AS words
FROM (SELECT approx_count_distinct(part_no) AS part_no, approx_count_distinct(lot) AS lot,
             approx_count_distinct(supplier) AS supplier FROM stored_part) p
CROSS JOIN (SELECT approx_count_distinct(serial_prefix) AS prefix FROM stored_visit) v;
