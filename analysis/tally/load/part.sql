-- One row per part line of a current ticket opened before the end of the as-of day.
CREATE TABLE part AS
WITH known AS (
    SELECT CAST(s.first_visit + (p.visit & 4294967295) AS INTEGER) AS visit, p.component, p.part_no, p.supplier, p.lot, p.grade,
           p.quantity, p.unit_cost, p.currency, p.model, p.opened, CASE WHEN p.mended < $end THEN p.mended END AS mended,
           p.has_device, p.initial, p.last, p.single
    FROM stored_part p
    JOIN segment s ON s.number = p.visit >> 32
    WHERE p.opened < $end AND p.visit NOT IN (SELECT visit FROM retired)
), dated AS (
    SELECT k.*, make_timestamp(k.opened + CASE WHEN k.opened < zo.change THEN zo.before ELSE coalesce(zo.after, 0) END) AS local,
           make_timestamp(k.mended + CASE WHEN k.mended < zm.change THEN zm.before ELSE coalesce(zm.after, 0) END) AS local_mended
    FROM known k
    LEFT JOIN zone_day zo ON zo.day = k.opened // 86400000000
    LEFT JOIN zone_day zm ON zm.day = k.mended // 86400000000
)
SELECT visit, CAST(component AS component_word) AS component, CAST(part_no AS part_no_word) AS part_no,
       CAST(supplier AS supplier_word) AS supplier, CAST(lot AS lot_word) AS lot, CAST(grade AS grade_word) AS grade,
       quantity, unit_cost, CAST(currency AS currency_word) AS currency, CAST(model AS model_word) AS model,
       CAST(date_trunc('month', local) AS DATE) AS month, CAST(local AS DATE) AS opened, CAST(local_mended AS DATE) AS mended,
       has_device AND visit NOT IN (SELECT visit FROM by_placeholder) AS has_device, initial, last, single
FROM dated;
