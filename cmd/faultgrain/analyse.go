package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/pflag"

	"faultgrain/analysis"
	"faultgrain/ingest/history"
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
					return writeJSON(s.out, sum.Summary)
				}
				printAnalysis(s.out, sum)
				return nil
			}
		},
	}
}

// worked is what analysis says of itself, and the findings it wrote.
type worked struct {
	analysis.Summary
	list []schemas.Finding
}

func workOut(ctx context.Context, s streams, dir, out string, settings schemas.Settings, d deciding, t talk) (worked, error) {
	zone, err := settings.Location()
	if err != nil {
		return worked{}, err
	}
	asOf, err := d.day(zone)
	if err != nil {
		return worked{}, err
	}
	budget, err := d.limit()
	if err != nil {
		return worked{}, err
	}
	bar := newProgress(s.err, t.quiet)
	defer bar.close()
	sum, err := analysis.Run(ctx, analysis.Options{
		History: dir, Out: out, Settings: settings, Stock: d.stock, Fleet: d.fleet,
		AsOf: asOf, Seed: d.seed, Budget: budget, LookBack: d.lookBack,
		Progress: func(p analysis.Progress) {
			bar.at(step{stage: "work out", detail: p.Stage, done: int64(p.Done), total: int64(p.Total)})
		},
		Log: logger(s.err, t.quiet),
	})
	if err != nil {
		return worked{}, damaged(ctx, dir, err)
	}
	list, err := readFindings(out)
	return worked{sum, list}, err
}

// damaged tells which logs to ingest again when what failed is a history that is not whole.
func damaged(ctx context.Context, dir string, err error) error {
	if ctx.Err() != nil {
		return err
	}
	problems, broken := history.Verify(ctx, dir)
	if broken != nil || len(problems) == 0 {
		return err
	}
	return fmt.Errorf("%s is damaged: %w (then: %w); faultgrain verify lists all that is", dir, problems[0], err)
}

func readFindings(out string) ([]schemas.Finding, error) {
	f, err := os.Open(filepath.Join(out, "findings.json"))
	if err != nil {
		return nil, err
	}
	defer f.Close()
	all, err := schemas.ReadFindings(f)
	return all.Findings, err
}

func printAnalysis(w io.Writer, done worked) {
	fmt.Fprintf(w, "%s to %s: %d visits, %d findings\n", done.From, done.AsOf, done.Visits, len(done.list))
	for i, f := range done.list {
		if i == 5 {
			fmt.Fprintf(w, "and %d more in the report\n", len(done.list)-5)
			break
		}
		fmt.Fprintf(w, "- %s\n", f.Headline)
	}
	if len(done.list) == 0 {
		fmt.Fprintln(w, "nothing stands out; the tables have the numbers")
	}
}
