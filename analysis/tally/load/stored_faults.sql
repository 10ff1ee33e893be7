-- One row per stored visit and component.
CREATE TEMP VIEW stored_fault AS
SELECT visit, component, basis FROM read_parquet(getvariable('fault_files'));
