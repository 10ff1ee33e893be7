-- Part texts that repeat, kept as enums.
CREATE TYPE part_no_word AS ENUM (SELECT DISTINCT part_no FROM stored_part WHERE part_no IS NOT NULL ORDER BY part_no);
CREATE TYPE lot_word AS ENUM (SELECT DISTINCT lot FROM stored_part WHERE lot IS NOT NULL ORDER BY lot);
CREATE TYPE supplier_word AS ENUM (SELECT DISTINCT supplier FROM stored_part WHERE supplier IS NOT NULL ORDER BY supplier);
CREATE TYPE prefix_word AS ENUM (SELECT DISTINCT serial_prefix FROM stored_visit WHERE serial_prefix IS NOT NULL ORDER BY serial_prefix);
