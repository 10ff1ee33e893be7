-- Grain: one row per component and model it is asked what goes with. The types are those of the tables it is joined with.
CREATE OR REPLACE TEMP TABLE asked (component component_word, model model_word)
