-- One row per stored part line; row counts the lines of a file from 0.
CREATE TEMP VIEW stored_part AS
SELECT visit, file_row_number AS row, component, part_no, supplier, lot, grade, quantity, unit_cost, currency
FROM read_parquet(getvariable('part_files'), file_row_number = true);
