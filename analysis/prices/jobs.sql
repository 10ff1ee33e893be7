-- Grain:  one row per component, model and currency, of repaired jobs with the component as their only fault.
-- Output: medians of charge, minutes and what the parts cost.
SELECT component, model, coalesce(CAST(currency AS VARCHAR), '') AS currency, charge, minutes, money
FROM (SELECT component, model, currency, percentile_cont(0.5) WITHIN GROUP (ORDER BY charge) AS charge,
             percentile_cont(0.5) WITHIN GROUP (ORDER BY bench_minutes) AS minutes,
             percentile_cont(0.5) WITHIN GROUP (ORDER BY parts_cost) AS money
      FROM visit
      WHERE components = 1 AND outcome = 'repaired' AND charge > 0
      GROUP BY component, model, currency) typical
ORDER BY component, model, coalesce(CAST(currency AS VARCHAR), '')
