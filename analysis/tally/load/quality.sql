-- One row per topic, subject and note. What is about visits counts once per current ticket that bears its number, in how
-- many segments it may stand; of what is about a log the latest ingest counts, per topic and subject.
INSERT INTO quality
WITH noticed AS (
    SELECT topic, subject, count, note, ingest, noted, place FROM read_parquet(getvariable('quality_files'))
), word AS (
    SELECT noted, place, max(topic) AS topic, max(subject) AS subject, max(note) AS note, max(count) AS times
    FROM noticed
    WHERE noted IS NOT NULL
    GROUP BY noted, place
), bearer AS (
    SELECT noted, count(*) AS visits
    FROM stored_visit
    WHERE noted IS NOT NULL AND visit NOT IN (SELECT visit FROM retired)
    GROUP BY noted
), latest AS (
    SELECT topic, subject, max(ingest) AS ingest
    FROM noticed
    WHERE noted IS NULL
    GROUP BY topic, subject
)
SELECT w.topic, w.subject, CAST(sum(b.visits * w.times) AS BIGINT), w.note
FROM bearer b
JOIN word w ON w.noted = b.noted
GROUP BY w.topic, w.subject, w.note
UNION ALL
SELECT n.topic, n.subject, CAST(sum(n.count) AS BIGINT), n.note
FROM noticed n
JOIN latest l ON l.topic = n.topic AND l.subject = n.subject AND l.ingest = n.ingest
WHERE n.noted IS NULL
GROUP BY n.topic, n.subject, n.note;
