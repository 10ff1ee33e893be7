package main

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/pflag"

	"faultgrain/analysis"
	"faultgrain/schemas"
)

func analyseVerb() verb {
	return verb{
		name: "analyse", args: "", about: "work out tables and findings from the history",
		examples: []string{"faultgrain analyse --as-of 2026-05-31", "faultgrain analyse --stock stock.csv --out brief"},
		setup: func(f *pflag.FlagSet) action {
			var d deciding
			var t talk
			var history, out, shop string
			f.StringVar(&shop, "shop", "", "the shop's settings, a TOML file")
			addHistory(f, &history)
			addOut(f, &out)
			d.add(f)
			t.add(f)
			return func(ctx context.Context, s streams, args []string) error {
				if err := none(args); err != nil {
					return err
				}
				settings, err := schemas.LoadSettings(shop)
				if err != nil {
					return err
				}
				sum, err := workOut(ctx, s, history, out, settings, d, t)
				if err != nil {
					return err
				}
				if t.json {
					return writeJSON(s.out, sum)
				}
				printAnalysis(s.out, sum)
				return nil
			}
		},
	}
}

func workOut(ctx context.Context, s streams, history, out string, settings schemas.Settings, d deciding, t talk) (analysis.Summary, error) {
	zone, err := settings.Location()
	if err != nil {
		return analysis.Summary{}, err
	}
	asOf, err := d.day(zone)
	if err != nil {
		return analysis.Summary{}, err
	}
	over(d.stock, &settings.Stock)
	over(d.fleet, &settings.Fleet)
	bar := newProgress(s.err, t.quiet)
	defer bar.close()
	return analysis.Run(ctx, analysis.Options{
		History: history, Out: out, Settings: settings, AsOf: asOf, Seed: d.seed, Budget: d.budget, LookBack: d.lookBack,
		Progress: func(stage string, done, total int) { bar.at(stage, int64(done), int64(total)) },
		Log:      logger(s.err, t.quiet),
	})
}

func printAnalysis(w io.Writer, sum analysis.Summary) {
	fmt.Fprintf(w, "as of %s: %d visits, %d findings\n", sum.AsOf, sum.Visits, len(sum.Findings))
	for i, f := range sum.Findings {
		if i == 5 {
			fmt.Fprintf(w, "  and %d more in the report\n", len(sum.Findings)-5)
			break
		}
		fmt.Fprintf(w, "  %-8s %s\n", f.Grade, f.Headline)
	}
	if len(sum.Findings) == 0 {
		fmt.Fprintln(w, "  nothing stands out; the tables have the numbers")
	}
}
