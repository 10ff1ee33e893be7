-- One row: at least as many words as the names of models, makers and families have.
SELECT count(*) AS words FROM tree;
