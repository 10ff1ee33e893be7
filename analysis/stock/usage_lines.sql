-- Grain:  one row per part number and day of the visit it was used on.
-- Output: pieces; a line without a quantity is one piece, a part of a piece is a whole one, and what was given back
--         (0 or less) does not count.
SELECT p.part_no, CAST(p.opened AS DATE) AS day, CAST(sum(ceil(coalesce(p.quantity, 1))) AS BIGINT) AS pieces
FROM part p
WHERE p.part_no IS NOT NULL AND coalesce(p.quantity, 1) > 0 AND coalesce(p.quantity, 1) < 100000
GROUP BY p.part_no, CAST(p.opened AS DATE)
ORDER BY p.part_no, CAST(p.opened AS DATE)
