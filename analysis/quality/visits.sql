-- Grain:  one row. Visits that a question has to leave out, counted.
-- Output: undiagnosed have no fault read, are not no-fault and gave no text either; an unknown outcome is NULL.
SELECT count(CASE WHEN unread AND NOT diagnosed THEN 1 END) AS unread,
       count(CASE WHEN NOT unread AND NOT diagnosed THEN 1 END) AS undiagnosed,
       count(CASE WHEN device IS NULL THEN 1 END) AS no_device,
       count(CASE WHEN outcome IS NULL THEN 1 END) AS no_outcome,
       count(CASE WHEN ready IS NULL AND outcome IN ('repaired', 'no-fault', 'uneconomic', 'declined', 'returned-unrepaired') THEN 1 END) AS no_ready,
       count(CASE WHEN bench_minutes IS NULL AND outcome = 'repaired' THEN 1 END) AS no_minutes,
       count(CASE WHEN charge IS NULL AND outcome = 'repaired' THEN 1 END) AS no_charge
FROM visit
