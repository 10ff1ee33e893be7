package main

import (
	"context"

	"github.com/spf13/pflag"

	"faultgrain/ingest/columns"
	"faultgrain/ingest/logfile"
)

func columnsVerb() verb {
	return verb{
		name: "columns", args: "LOG", about: "guess what a log's columns mean and draft columns.toml",
		examples: []string{"faultgrain columns may.csv > columns.toml"},
		setup: func(f *pflag.FlagSet) action {
			var opt logfile.Options
			f.StringVar(&opt.Encoding, "encoding", "", "the log's encoding (default: detected)")
			f.StringVar(&opt.Delimiter, "delimiter", "", "the log's delimiter (default: detected)")
			f.StringVar(&opt.Sheet, "sheet", "", "the sheet of a workbook (default: the first that holds a log)")
			return func(ctx context.Context, s streams, args []string) error {
				path, err := one(args, "LOG")
				if err != nil {
					return err
				}
				log, err := logfile.Open(ctx, path, opt)
				if err != nil {
					return err
				}
				return columns.Draft(ctx, s.out, columns.Table(log))
			}
		},
	}
}
