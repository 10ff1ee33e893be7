-- Stored visits whose faults their own columns don't tell whole: they have causes, or three components and more.
CREATE TEMP TABLE many AS
SELECT visit FROM stored_visit WHERE faults > components OR components > 2;
