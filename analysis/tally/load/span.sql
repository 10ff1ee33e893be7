-- One row: the first and the last instant opened, the last ready or collected within the grace after
-- that, and the latest instant of all. Retired versions count too: they only widen the span.
WITH bounds AS (SELECT min(opened) AS first, max(opened) AS opened FROM stored_visit)
SELECT min(b.first) AS first, max(b.opened) AS opened,
       max(greatest(CASE WHEN v.ready <= b.opened + $grace THEN v.ready ELSE b.first END,
                    CASE WHEN v.collected <= b.opened + $grace THEN v.collected ELSE b.first END)) AS last,
       max(greatest(coalesce(v.ready, b.first), coalesce(v.collected, b.first))) AS latest
FROM stored_visit v CROSS JOIN bounds b;
