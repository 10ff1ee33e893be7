-- One row per stored version that a later ingest replaced.
INSERT INTO retired
SELECT DISTINCT visit FROM read_parquet(getvariable('replaced_files')) WHERE visit IS NOT NULL;
