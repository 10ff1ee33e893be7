-- No segment holds a part line.
CREATE TEMP TABLE stored_part (visit BIGINT, component VARCHAR, part_no VARCHAR, supplier VARCHAR, lot VARCHAR, grade VARCHAR,
                               quantity DOUBLE, unit_cost DOUBLE, currency VARCHAR, model VARCHAR, opened BIGINT, mended BIGINT,
                               has_device BOOLEAN, initial BOOLEAN, last BOOLEAN, single BOOLEAN);
