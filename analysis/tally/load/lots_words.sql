-- Part texts that repeat, kept as enums.
CREATE TYPE part_no_word AS ENUM (SELECT DISTINCT part_no AS w FROM stored_part WHERE part_no IS NOT NULL UNION SELECT '' ORDER BY w);
CREATE TYPE lot_word AS ENUM (SELECT DISTINCT lot AS w FROM stored_part WHERE lot IS NOT NULL UNION SELECT '' ORDER BY w);
CREATE TYPE supplier_word AS ENUM (SELECT DISTINCT supplier AS w FROM stored_part WHERE supplier IS NOT NULL UNION SELECT '' ORDER BY w);
CREATE TYPE prefix_word AS ENUM (SELECT DISTINCT serial_prefix AS w FROM stored_visit WHERE serial_prefix IS NOT NULL UNION SELECT '' ORDER BY w);
