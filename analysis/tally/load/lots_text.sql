-- Part texts too varied for word lists, kept as they are.
CREATE TYPE part_no_word AS VARCHAR;
CREATE TYPE lot_word AS VARCHAR;
CREATE TYPE supplier_word AS VARCHAR;
CREATE TYPE prefix_word AS VARCHAR;
