-- One row per current ticket opened before the end of the as-of day ($end, microseconds).
-- A ready or collected date after that day was not known then: it is empty, and the job was open.
CREATE TABLE visit AS
WITH known AS (
    SELECT CAST(s.first_visit + (v.visit & 4294967295) AS INTEGER) AS visit, v.opened,
           CASE WHEN v.ready < $end THEN v.ready END AS ready, coalesce(v.collected < $end, false) AS collected,
           CASE WHEN v.ready >= $end THEN 'open' ELSE v.outcome END AS outcome, v.model, v.device_key, v.made_week,
           v.serial_prefix, v.bench_minutes, v.charge, v.parts_cost, v.currency, v.unread,
           v.faults, v.components, v.component, v.component_b, v.by_text
    FROM stored_visit v
    JOIN segment s ON s.number = v.visit >> 32
    WHERE v.opened < $end AND v.visit NOT IN (SELECT visit FROM retired)
)
SELECT k.visit,
       make_timestamp(k.opened + CASE WHEN k.opened < zo.change THEN zo.before ELSE coalesce(zo.after, 0) END) AS opened,
       CAST(make_timestamp(k.ready + CASE WHEN k.ready < zr.change THEN zr.before ELSE coalesce(zr.after, 0) END) AS DATE) AS ready,
       CAST((coalesce(k.ready, $end) - k.opened) // 60000000 AS INTEGER) AS elapsed_minutes,
       CAST(k.outcome AS outcome_word) AS outcome, CAST(k.model AS model_word) AS model, k.collected,
       CASE WHEN k.device_key IS NOT NULL THEN CAST(hash(k.device_key) >> 1 AS BIGINT) END AS device,
       CAST(k.made_week AS week_word) AS made_week, CAST(k.serial_prefix AS prefix_word) AS serial_prefix,
       k.bench_minutes, k.charge, k.parts_cost, CAST(k.currency AS currency_word) AS currency, k.unread,
       (coalesce(k.outcome = 'no-fault', false) OR k.faults > 0) AS diagnosed,
       CAST(k.components AS UTINYINT) AS components,
       CAST(k.component AS component_word) AS component,
       CAST(k.component_b AS component_word) AS component_b, k.by_text,
       CAST(date_trunc('month', make_timestamp(k.opened + CASE WHEN k.opened < zo.change THEN zo.before ELSE coalesce(zo.after, 0) END)) AS DATE) AS month
FROM known k
LEFT JOIN zone_day zo ON zo.day = k.opened // 86400000000
LEFT JOIN zone_day zr ON zr.day = k.ready // 86400000000;
