-- Grain:  one row per topic, subject and note that ingest noticed.
SELECT topic, subject, count, note FROM quality ORDER BY topic, subject, note
