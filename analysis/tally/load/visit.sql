-- One row per current ticket opened before the end of the as-of day ($end, microseconds).
-- A ready or collected date after that day was not known then and stays empty.
CREATE TABLE visit AS
SELECT l.visit, l.shop, make_timestamp(l.opened) AS opened, make_timestamp(l.ready) AS ready,
       make_timestamp(l.collected) AS collected, l.outcome, m.class, m.maker, m.family, m.model, l.device,
       l.made_week, l.serial_prefix, l.bench_minutes, l.charge, l.currency, l.unread,
       (coalesce(l.outcome = 'no-fault', false) OR l.visit IN (SELECT visit FROM fault_word)) AS diagnosed,
       CAST(date_trunc('month', make_timestamp(l.opened)) AS DATE) AS month
FROM (
    SELECT CAST(s.first_visit + (v.visit & 4294967295) AS INTEGER) AS visit, CAST(v.shop AS shop_word) AS shop,
           v.opened + CASE WHEN v.opened < zo.change THEN zo.before ELSE coalesce(zo.after, 0) END AS opened,
           CASE WHEN v.ready < $end
                THEN v.ready + CASE WHEN v.ready < zr.change THEN zr.before ELSE coalesce(zr.after, 0) END END AS ready,
           CASE WHEN v.collected < $end
                THEN v.collected + CASE WHEN v.collected < zc.change THEN zc.before ELSE coalesce(zc.after, 0) END END AS collected,
           CAST(v.outcome AS outcome_word) AS outcome, CAST(v.model AS model_word) AS model,
           CASE WHEN v.device_key IS NOT NULL THEN CAST(hash(v.device_key) >> 1 AS BIGINT) END AS device,
           CAST(v.made_week AS week_word) AS made_week, CAST(v.serial_prefix AS prefix_word) AS serial_prefix,
           v.bench_minutes, v.charge, CAST(v.currency AS currency_word) AS currency, v.unread
    FROM stored_visit v
    JOIN segment s ON s.number = v.visit >> 32
    LEFT JOIN zone_day zo ON zo.day = v.opened // 86400000000
    LEFT JOIN zone_day zr ON zr.day = v.ready // 86400000000
    LEFT JOIN zone_day zc ON zc.day = v.collected // 86400000000
    WHERE v.opened < $end AND v.visit NOT IN (SELECT visit FROM retired)
) l
JOIN model m ON m.model = l.model;
