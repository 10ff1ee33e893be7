package main

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime/pprof"
	"strings"

	"faultgrain/analysis"
	"faultgrain/ingest"
	"faultgrain/report"

	_ "github.com/duckdb/duckdb-go/v2"
)

// step does one piece of work in this process.
func (o *options) step(ctx context.Context) (err error) {
	if o.profile != "" {
		f, err := os.Create(o.profile)
		if err != nil {
			return err
		}
		defer f.Close()
		if err := pprof.StartCPUProfile(f); err != nil {
			return err
		}
		defer pprof.StopCPUProfile()
	}
	history, out := filepath.Join(o.dir, "history"), filepath.Join(o.dir, "brief")
	switch o.only {
	case "write":
		f, err := os.Create(o.log)
		if err != nil {
			return err
		}
		g := generator{seed: o.seed, visits: o.sizes[0], edited: o.edited}
		last := o.sizes[0]
		if o.first > last { // the month after
			last += last / 30
		}
		return errors.Join(g.write(ctx, f, o.first, last), f.Close())
	case "shop":
		return writeShop(ctx, o.dir, o.log)
	case "copy":
		return rawCopy(ctx, o.log, filepath.Join(o.dir, "copy.parquet"))
	case "ingest":
		_, err := ingest.Run(ctx, []string{o.log}, ingest.Options{History: history})
		return err
	case "analyse":
		_, err := analysis.Run(ctx, analysis.Options{History: history, Out: out, Seed: o.seed})
		return err
	case "report":
		return report.Build(ctx, report.Options{Out: out})
	}
	return fmt.Errorf("--only %s is not known, want write, shop, copy, ingest, analyse or report", o.only)
}

// rawCopy is what ingest is measured against.
func rawCopy(ctx context.Context, log, to string) error {
	db, err := sql.Open("duckdb", "")
	if err != nil {
		return err
	}
	defer db.Close()
	quote := func(s string) string { return "'" + strings.ReplaceAll(s, "'", "''") + "'" }
	_, err = db.ExecContext(ctx, fmt.Sprintf("COPY (SELECT * FROM read_csv(%s)) TO %s (FORMAT parquet, COMPRESSION zstd)", quote(log), quote(to)))
	return err
}
