-- One row per model: the class, maker and family most of its visits carry; ties go to the first word.
CREATE TABLE model AS
SELECT CAST(model AS model_word) AS model, CAST(class AS class_word) AS class,
       CAST(maker AS maker_word) AS maker, CAST(family AS family_word) AS family
FROM (SELECT model, class, maker, family,
             row_number() OVER (PARTITION BY model ORDER BY visits DESC, class, maker, family) AS place
      FROM tree)
WHERE place = 1;
