-- Grain: one row per component: the share of its repairs that come back.
CREATE OR REPLACE TEMP TABLE back_share (component VARCHAR, share DOUBLE)
