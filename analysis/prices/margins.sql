-- Grain:  one row per component, model and currency, of the jobs of jobs.sql.
-- Input:  visit; expected_return, what a return of such a job is expected to cost.
-- Param:  $rate, money per bench hour; $target, share of the charge a job should leave (NULL: none below).
-- Output: the median margin; jobs with a known margin and those below the target. The margin is the charge less parts,
--         minutes at the rate and the expected cost of a return. A job whose parts have no cost or another currency has none.
WITH left_over AS (
    SELECT v.component, v.model, e.currency, v.charge,
           v.charge - v.parts_cost - v.bench_minutes / 60 * CAST($rate AS DOUBLE) - e.cost AS margin
    FROM visit v
    JOIN expected_return e ON e.component = v.component AND e.model = v.model AND e.currency IS NOT DISTINCT FROM v.currency
    WHERE v.components = 1 AND v.outcome = 'repaired' AND v.charge > 0
)
SELECT component, model, coalesce(CAST(currency AS VARCHAR), '') AS currency, margin, jobs, below
FROM (SELECT component, model, currency, percentile_cont(0.5) WITHIN GROUP (ORDER BY margin) AS margin, count(margin) AS jobs,
             count(CASE WHEN margin < CAST($target AS DOUBLE) * charge THEN 1 END) AS below
      FROM left_over
      GROUP BY component, model, currency) typical
ORDER BY component, model, coalesce(CAST(currency AS VARCHAR), '')
