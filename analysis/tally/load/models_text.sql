-- Names of more models than any shop has, kept as they are: a result of an enum carries all its words with every 2,048 rows.
CREATE TYPE model_word AS VARCHAR;
CREATE TYPE maker_word AS VARCHAR;
CREATE TYPE family_word AS VARCHAR;
