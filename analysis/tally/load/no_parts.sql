-- No segment holds a part line.
CREATE TEMP TABLE stored_part (visit BIGINT, row BIGINT, component VARCHAR, part_no VARCHAR, supplier VARCHAR,
                               lot VARCHAR, grade VARCHAR, quantity DOUBLE, unit_cost DOUBLE, currency VARCHAR);
