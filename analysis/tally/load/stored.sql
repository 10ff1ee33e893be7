-- The visit files as a view, and the small tables the other loading steps fill.
-- Grain of the view: one row per stored version of a ticket; times in microseconds since 1970, UTC.
-- DuckDB's own: read_parquet, variables, epoch_us.
-- Joins in the loading steps run as written: what is looked up stands on the right and is the narrow side,
-- which the optimiser, short of statistics, gets wrong.
SET disabled_optimizers = 'join_order,build_side_probe_side';

CREATE TABLE segment (number BIGINT, first_visit BIGINT);
CREATE TABLE zone_day (day BIGINT, change BIGINT, before BIGINT, after BIGINT);
CREATE TABLE retired (visit BIGINT);
CREATE TABLE quality (topic VARCHAR, subject VARCHAR, count BIGINT, note VARCHAR);

CREATE TEMP VIEW stored_visit AS
SELECT visit, epoch_us(opened) AS opened, epoch_us(ready) AS ready, epoch_us(collected) AS collected,
       outcome, coalesce(class, '') AS class, coalesce(maker, '') AS maker, coalesce(family, '') AS family, model,
       device_key, made_week, serial_prefix, bench_minutes, charge, currency, unread, noted,
       faults, components, component, component_b, by_text, parts_cost
FROM read_parquet(getvariable('visit_files'));
