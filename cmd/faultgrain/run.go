package main

import (
	"context"
	"fmt"

	"github.com/spf13/pflag"

	"faultgrain/analysis"
	"faultgrain/ingest"
)

func runVerb() verb {
	return verb{
		name: "run", args: "LOG...", about: "read logs, work out, draw the report: all in one",
		examples: []string{"faultgrain run may.csv", "faultgrain run tickets.csv lines.csv --shop shop.toml --stock stock.csv --out may"},
		setup: func(f *pflag.FlagSet) action {
			var r reading
			var d deciding
			var t talk
			var history, out string
			r.add(f)
			d.add(f)
			addHistory(f, &history)
			addOut(f, &out)
			t.add(f)
			return func(ctx context.Context, s streams, args []string) error {
				return runAll(ctx, s, args, history, out, r, d, t)
			}
		},
	}
}

// runSummary is what run --json prints: the keys of ingest, then of analyse, then the page.
type runSummary struct {
	ingest.Summary
	Analysis analysis.Summary `json:"analysis"`
	Page     string           `json:"page"`
}

func runAll(ctx context.Context, s streams, logs []string, history, out string, r reading, d deciding, t talk) error {
	settings, err := r.settings()
	if err != nil {
		return err
	}
	zone, err := settings.Location()
	if err != nil {
		return err
	}
	// What was asked wrongly is said before anything is written.
	if _, err := d.day(zone); err != nil {
		return err
	}
	if _, err := d.limit(); err != nil {
		return err
	}
	read, err := readLogs(ctx, s, logs, history, settings, r, t)
	if err != nil {
		return err
	}
	if !t.json {
		printIngest(s.out, read)
	}
	done, err := workOut(ctx, s, history, out, settings, d, t)
	if err != nil {
		return err
	}
	if !t.json {
		printAnalysis(s.out, done)
	}
	over(d.notes, &settings.Notes)
	page, err := draw(ctx, s, out, "", settings, t)
	if err != nil {
		return err
	}
	if t.json {
		if err := writeJSON(s.out, runSummary{read, done.Summary, page}); err != nil {
			return err
		}
	} else {
		fmt.Fprintln(s.out, "report:", page)
	}
	return r.verdict(s, read)
}
