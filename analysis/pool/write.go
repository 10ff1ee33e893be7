package pool

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"faultgrain/analysis/bundle"
	"faultgrain/schemas"
)

// Write puts the tables into OUT/tables as pool.csv, pool_shops.csv, pool_pairs.csv and pool_batches.csv; other tables there stay.
// pool.csv is written last.
func (t *Tables) Write(out string) error {
	dir := filepath.Join(out, "tables")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("make the output folder: %w; name another with --out", err)
	}
	return errors.Join(
		save(dir, "pool_shops", t.Shops), save(dir, "pool_pairs", t.Pairs), save(dir, "pool_batches", t.Batches), save(dir, "pool", t.Pool))
}

func save[T any](dir, name string, rows []T) error {
	return bundle.Save(filepath.Join(dir, name+".csv"), func(w io.Writer) error { return schemas.WriteCSV(w, rows) })
}
