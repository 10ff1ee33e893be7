-- Grain:  one row per model, component alone (component_b NULL) or pair of components, and bench minutes.
-- Input:  repaired visits, or visits whose outcome is not told; causes (liquid, drop) do not count as a fault.
-- Output: jobs that took exactly so many minutes.
SELECT model, component, component_b, bench_minutes AS minutes, count(*) AS jobs
FROM visit
WHERE components IN (1, 2) AND bench_minutes > 0 AND (outcome = 'repaired' OR outcome IS NULL)
GROUP BY model, component, component_b, bench_minutes
ORDER BY model, component, component_b, bench_minutes
