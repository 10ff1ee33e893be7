package main

import (
	"context"
	"fmt"
	"slices"

	"github.com/spf13/pflag"

	"faultgrain/ingest/export"
)

func exportVerb() verb {
	return verb{
		name: "export", args: "", about: "write visits, faults, parts and quarantine for other programs",
		examples: []string{"faultgrain export --out export", "faultgrain export --format parquet --out export"},
		setup: func(f *pflag.FlagSet) action {
			var t talk
			var dir, out, format string
			f.StringVar(&format, "format", export.CSV, "csv, parquet or arrow")
			f.StringVar(&out, "out", "export", "folder to write to")
			addHistory(f, &dir)
			t.add(f)
			return func(ctx context.Context, s streams, args []string) error {
				if err := none(args); err != nil {
					return err
				}
				if !slices.Contains([]string{export.CSV, export.Parquet, export.Arrow}, format) {
					return usagef("--format: found %q, want csv, parquet or arrow", format)
				}
				files, err := export.Write(ctx, dir, out, format)
				if err != nil {
					return err
				}
				if t.json {
					return writeJSON(s.out, map[string]any{"files": files})
				}
				for _, f := range files {
					fmt.Fprintf(s.out, "%8d rows  %s\n", f.Rows, f.Path)
				}
				return nil
			}
		},
	}
}
