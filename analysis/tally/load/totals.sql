-- One row: what the log holds up to the as-of day.
SELECT (SELECT coalesce(sum(visits), 0) FROM count_visit) AS visits,
       (SELECT coalesce(sum(diagnosed), 0) FROM count_visit) AS diagnosed,
       (SELECT coalesce(sum(unread), 0) FROM count_visit) AS unread,
       (SELECT coalesce(sum(faults), 0) FROM count_fault) AS faults,
       (SELECT count(*) FROM part) AS parts,
       (SELECT count(device) FROM visit) AS devices,
       (SELECT count(*) FROM by_placeholder) AS placeholders,
       (SELECT count(*) FROM (SELECT DISTINCT model FROM count_visit)) AS models,
       (SELECT count(*) FROM stored_visit WHERE opened >= $end AND visit NOT IN (SELECT visit FROM retired)) AS later,
       (SELECT coalesce(max(visit) + 1, 0) FROM visit) AS visit_ids;
