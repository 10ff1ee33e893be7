-- Grain:  one row per model, component alone (component_b NULL) or pair, elapsed time and whether it ended.
-- Input:  visits with a ready date, and visits still open on the as-of day: outcome open, or, where the log
--         tells ready dates at all, no outcome, no ready and no collected date.
-- Param:  $step, minutes: elapsed time is cut to a multiple of it.
-- Output: jobs; elapsed in minutes; ended is false for open ones, elapsed then counts to the as-of day's end.
SELECT model, component, component_b, elapsed_minutes - elapsed_minutes % $step AS elapsed, ready IS NOT NULL AS ended, count(*) AS jobs
FROM visit
WHERE components IN (1, 2)
  AND (ready IS NOT NULL OR outcome = 'open'
       OR outcome IS NULL AND NOT collected AND EXISTS (SELECT 1 FROM visit WHERE ready IS NOT NULL))
GROUP BY model, component, component_b, elapsed_minutes - elapsed_minutes % $step, ready IS NOT NULL
ORDER BY model, component, component_b, elapsed, ended
