-- Words that repeat are kept as enums, sorted, so that a visit takes bytes instead of texts.
-- Each holds the empty word, too, because an enum can't be empty.
-- DuckDB's own: CREATE TYPE ... AS ENUM.
CREATE TEMP TABLE tree AS
SELECT model, class, maker, family, count(*) AS visits
FROM stored_visit
WHERE visit NOT IN (SELECT visit FROM retired)
GROUP BY model, class, maker, family;

CREATE TYPE class_word AS ENUM (SELECT class AS w FROM tree UNION SELECT '' ORDER BY w);
CREATE TYPE outcome_word AS ENUM (
    SELECT DISTINCT outcome AS w FROM stored_visit WHERE outcome IS NOT NULL UNION SELECT '' UNION SELECT 'open' ORDER BY w);
CREATE TYPE week_word AS ENUM (SELECT DISTINCT made_week AS w FROM stored_visit WHERE made_week IS NOT NULL UNION SELECT '' ORDER BY w);
CREATE TYPE component_word AS ENUM (
    SELECT DISTINCT component AS w FROM stored_fault
    UNION SELECT DISTINCT component FROM stored_part WHERE component IS NOT NULL UNION SELECT '' ORDER BY w);
CREATE TYPE grade_word AS ENUM (SELECT DISTINCT grade AS w FROM stored_part WHERE grade IS NOT NULL UNION SELECT '' ORDER BY w);
CREATE TYPE currency_word AS ENUM (
    SELECT DISTINCT currency AS w FROM stored_visit WHERE currency IS NOT NULL
    UNION SELECT DISTINCT currency FROM stored_part WHERE currency IS NOT NULL UNION SELECT '' ORDER BY w);
