-- Grain:  one row per model and currency, of repaired jobs with the component ($component) as their only fault.
-- Param:  $rate, money per bench hour (NULL: no margins); $back, share of repairs that come back; $target, share of
--         the charge a job should leave (NULL: none below).
-- Output: medians of charge, minutes and margin; jobs with a known margin and those below the target. The margin is the
--         charge less parts, minutes at the rate and the expected cost of a return: the share that comes back times the
--         model's median parts and minutes once more. A job whose parts have no cost or another currency has no margin.
WITH cost AS (
    SELECT p.visit, sum(coalesce(p.quantity, 1) * p.unit_cost) AS money, count(*) - count(p.unit_cost) AS unpriced,
           count(DISTINCT coalesce(CAST(p.currency AS VARCHAR), '')) AS currencies,
           min(coalesce(CAST(p.currency AS VARCHAR), '')) AS currency
    FROM part p
    JOIN visit v ON v.visit = p.visit
    WHERE v.components = 1 AND v.component = $component
    GROUP BY p.visit
), job AS (
    SELECT v.model, coalesce(CAST(v.currency AS VARCHAR), '') AS currency, v.charge, v.bench_minutes,
           CASE WHEN c.unpriced = 0 AND c.currencies = 1 AND c.currency = coalesce(CAST(v.currency AS VARCHAR), '')
                THEN c.money END AS money
    FROM visit v
    LEFT JOIN cost c ON c.visit = v.visit
    WHERE v.components = 1 AND v.component = $component AND v.outcome = 'repaired' AND v.charge > 0
), typical AS (
    SELECT model, currency, percentile_cont(0.5) WITHIN GROUP (ORDER BY charge) AS charge,
           percentile_cont(0.5) WITHIN GROUP (ORDER BY bench_minutes) AS minutes,
           percentile_cont(0.5) WITHIN GROUP (ORDER BY money) AS money
    FROM job
    GROUP BY model, currency
), left_over AS (
    SELECT j.model, j.currency, j.charge,
           j.charge - j.money - j.bench_minutes / 60 * CAST($rate AS DOUBLE)
           - CAST($back AS DOUBLE) * (t.money + t.minutes / 60 * CAST($rate AS DOUBLE)) AS margin
    FROM job j
    JOIN typical t ON t.model = j.model AND t.currency = j.currency
)
SELECT t.model, t.currency, t.charge, t.minutes, m.margin, m.jobs, m.below
FROM typical t
JOIN (SELECT model, currency, percentile_cont(0.5) WITHIN GROUP (ORDER BY margin) AS margin, count(margin) AS jobs,
             count(CASE WHEN margin < CAST($target AS DOUBLE) * charge THEN 1 END) AS below
      FROM left_over
      GROUP BY model, currency) m ON m.model = t.model AND m.currency = t.currency
ORDER BY t.model, t.currency
