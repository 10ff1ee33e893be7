-- Grain: one row per component, model and currency: what a return is expected to cost. The types are those of visit.
CREATE OR REPLACE TEMP TABLE expected_return (component component_word, model model_word, currency currency_word, cost DOUBLE)
