-- One row per topic, subject and note; counts of all ingests added up.
INSERT INTO quality
SELECT topic, subject, CAST(sum(count) AS BIGINT), note
FROM read_parquet(getvariable('quality_files'))
GROUP BY topic, subject, note;
