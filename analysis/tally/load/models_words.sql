-- Names of models that repeat, kept as enums.
CREATE TYPE model_word AS ENUM (SELECT model AS w FROM tree UNION SELECT '' ORDER BY w);
CREATE TYPE maker_word AS ENUM (SELECT maker AS w FROM tree UNION SELECT '' ORDER BY w);
CREATE TYPE family_word AS ENUM (SELECT family AS w FROM tree UNION SELECT '' ORDER BY w);
