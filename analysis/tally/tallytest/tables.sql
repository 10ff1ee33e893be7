-- The tables of a history segment, as schemas/tables.go describes them.
CREATE TABLE visits (visit BIGINT, ticket VARCHAR, shop VARCHAR, opened TIMESTAMPTZ, ready TIMESTAMPTZ, collected TIMESTAMPTZ,
    outcome VARCHAR, maker VARCHAR, family VARCHAR, model VARCHAR, class VARCHAR, device_key BLOB, made_week VARCHAR,
    serial_prefix VARCHAR, bench_minutes DOUBLE, charge DOUBLE, currency VARCHAR, technician_key BLOB, unread BOOLEAN);
CREATE TABLE faults (visit BIGINT, ticket VARCHAR, shop VARCHAR, component VARCHAR, basis VARCHAR);
CREATE TABLE parts (visit BIGINT, ticket VARCHAR, shop VARCHAR, component VARCHAR, part_no VARCHAR, supplier VARCHAR,
    lot VARCHAR, grade VARCHAR, quantity DOUBLE, unit_cost DOUBLE, currency VARCHAR);
CREATE TABLE replaced (visit BIGINT);
CREATE TABLE quality (topic VARCHAR, subject VARCHAR, count BIGINT, note VARCHAR);
