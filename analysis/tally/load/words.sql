-- Words that repeat are kept as enums, sorted, so that a visit takes bytes instead of texts.
-- DuckDB's own: CREATE TYPE ... AS ENUM.
CREATE TEMP TABLE tree AS
SELECT model, class, maker, family, count(*) AS visits
FROM stored_visit
WHERE visit NOT IN (SELECT visit FROM retired)
GROUP BY model, class, maker, family;

CREATE TYPE model_word AS ENUM (SELECT DISTINCT model FROM tree ORDER BY model);
CREATE TYPE class_word AS ENUM (SELECT DISTINCT class FROM tree ORDER BY class);
CREATE TYPE maker_word AS ENUM (SELECT DISTINCT maker FROM tree ORDER BY maker);
CREATE TYPE family_word AS ENUM (SELECT DISTINCT family FROM tree ORDER BY family);
CREATE TYPE shop_word AS ENUM (SELECT DISTINCT shop FROM stored_visit ORDER BY shop);
CREATE TYPE outcome_word AS ENUM (
    SELECT outcome FROM (SELECT DISTINCT outcome FROM stored_visit WHERE outcome IS NOT NULL UNION SELECT 'open') ORDER BY outcome);
CREATE TYPE week_word AS ENUM (SELECT DISTINCT made_week FROM stored_visit WHERE made_week IS NOT NULL ORDER BY made_week);
CREATE TYPE component_word AS ENUM (
    SELECT component FROM (SELECT DISTINCT component FROM stored_fault
                           UNION SELECT DISTINCT component FROM stored_part WHERE component IS NOT NULL)
    ORDER BY component);
CREATE TYPE basis_word AS ENUM (SELECT DISTINCT basis FROM stored_fault ORDER BY basis);
CREATE TYPE grade_word AS ENUM (SELECT DISTINCT grade FROM stored_part WHERE grade IS NOT NULL ORDER BY grade);
CREATE TYPE currency_word AS ENUM (
    SELECT currency FROM (SELECT DISTINCT currency FROM stored_visit WHERE currency IS NOT NULL
                          UNION SELECT DISTINCT currency FROM stored_part WHERE currency IS NOT NULL)
    ORDER BY currency);
