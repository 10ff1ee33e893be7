-- Grain:  one row per component, model and currency, of repaired jobs with the component as their only fault.
-- Input:  visit, back_share.
-- Param:  $rate, money per bench hour (NULL: no margins); $target, share of the charge a job should leave (NULL: none below).
-- Output: medians of charge, minutes and margin; jobs with a known margin and those below the target. The margin is the
--         charge less parts, minutes at the rate and the expected cost of a return: the share that comes back times the
--         model's median parts and minutes once more. A job whose parts have no cost or another currency has no margin.
WITH job AS (
    SELECT component, model, coalesce(CAST(currency AS VARCHAR), '') AS currency, charge, bench_minutes, parts_cost AS money
    FROM visit
    WHERE components = 1 AND outcome = 'repaired' AND charge > 0
), typical AS (
    SELECT component, model, currency, percentile_cont(0.5) WITHIN GROUP (ORDER BY charge) AS charge,
           percentile_cont(0.5) WITHIN GROUP (ORDER BY bench_minutes) AS minutes,
           percentile_cont(0.5) WITHIN GROUP (ORDER BY money) AS money
    FROM job
    GROUP BY component, model, currency
), expected AS (
    SELECT t.component, t.model, t.currency, t.charge, t.minutes,
           coalesce(r.share, 0) * (t.money + t.minutes / 60 * CAST($rate AS DOUBLE)) AS again
    FROM typical t
    LEFT JOIN back_share r ON r.component = t.component
), left_over AS (
    SELECT j.component, j.model, j.currency, j.charge,
           j.charge - j.money - j.bench_minutes / 60 * CAST($rate AS DOUBLE) - e.again AS margin
    FROM job j
    JOIN expected e ON e.component = j.component AND e.model = j.model AND e.currency = j.currency
)
SELECT e.component, e.model, e.currency, e.charge, e.minutes, m.margin, m.jobs, m.below
FROM expected e
JOIN (SELECT component, model, currency, percentile_cont(0.5) WITHIN GROUP (ORDER BY margin) AS margin, count(margin) AS jobs,
             count(CASE WHEN margin < CAST($target AS DOUBLE) * charge THEN 1 END) AS below
      FROM left_over
      GROUP BY component, model, currency) m ON m.component = e.component AND m.model = e.model AND m.currency = e.currency
ORDER BY e.component, e.model, e.currency
