-- One row per stored part line.
CREATE TEMP VIEW stored_part AS
SELECT visit, component, part_no, supplier, lot, grade, quantity, unit_cost, currency,
       model, epoch_us(opened) AS opened, epoch_us(mended) AS mended, has_device, initial, last, single
FROM read_parquet(getvariable('part_files'));
