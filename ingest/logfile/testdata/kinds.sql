-- Wrote kinds.parquet with DuckDB 1.5.6: a value of every kind that a log may hold, and nulls.
COPY (
	SELECT i AS ticket,
		CASE WHEN i % 3 = 0 THEN NULL ELSE 'Größe ' || i END AS model,
		DATE '2026-05-01' + i::INT AS opened,
		CASE WHEN i = 1 THEN NULL ELSE TIMESTAMP '2026-05-01 10:11:12' + INTERVAL (i) HOUR END AS ready,
		TIMESTAMPTZ '2026-05-01 10:11:12+02' AS zoned,
		(i * 1.25)::DECIMAL(9, 2) AS cost,
		(-i * 0.01)::DECIMAL(18, 2) AS discount,
		(i * 1.25)::DECIMAL(38, 4) AS wide,
		i / 4.0::DOUBLE AS share,
		i % 2 = 0 AS done,
		{'maker': 'Lark', 'year': 2020 + i} AS device,
		[1, 2] AS list,
		TIME '10:11:12' AS at,
		18446744073709551615 - i::UBIGINT AS serial,
		'ad4fa921-4817-42a7-ad68-351e64cfbd5f'::UUID AS id
	FROM range(4) r(i)
) TO 'kinds.parquet' (FORMAT parquet, COMPRESSION zstd);
