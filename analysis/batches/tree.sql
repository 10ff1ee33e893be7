-- Grain: one row per model.
SELECT model, family, maker, class FROM model ORDER BY model
