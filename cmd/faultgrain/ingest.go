package main

import (
	"context"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/spf13/pflag"

	"faultgrain/ingest"
	"faultgrain/schemas"
)

func ingestVerb() verb {
	return verb{
		name: "ingest", args: "LOG...", about: "read exported logs into the history",
		examples: []string{"faultgrain ingest may.csv", "faultgrain ingest tickets.xlsx lines.csv --shop shop.toml --columns columns.toml"},
		setup: func(f *pflag.FlagSet) action {
			var r reading
			var t talk
			var history string
			r.add(f)
			addHistory(f, &history)
			t.add(f)
			return func(ctx context.Context, s streams, args []string) error {
				settings, err := r.settings()
				if err != nil {
					return err
				}
				sum, err := readLogs(ctx, s, args, history, settings, r, t)
				if err != nil {
					return err
				}
				if t.json {
					if err := writeJSON(s.out, sum); err != nil {
						return err
					}
				} else {
					printIngest(s.out, sum)
				}
				return r.verdict(s, sum)
			}
		},
	}
}

func readLogs(ctx context.Context, s streams, logs []string, history string, settings schemas.Settings, r reading, t talk) (ingest.Summary, error) {
	if len(logs) == 0 {
		return ingest.Summary{}, usagef("missing LOG: name one or more exported files")
	}
	over(r.components, &settings.Components)
	over(r.models, &settings.Models)
	bar := newProgress(s.err, t.quiet)
	defer bar.close()
	return ingest.Run(ctx, logs, ingest.Options{
		History: history, Settings: settings, Columns: r.columns,
		Components: settings.Components, Models: settings.Models,
		Dates: r.dates, Encoding: r.encoding, Delimiter: r.delimiter, Sheet: r.sheet,
		Progress: func(p ingest.Progress) {
			bar.at(step{stage: strings.TrimSpace(p.Stage + " " + p.File), done: p.Done, total: p.Total, rows: p.Rows})
		},
		Log: logger(s.err, t.quiet),
	})
}

// verdict fails a strict reading that set rows aside.
func (r reading) verdict(s streams, sum ingest.Summary) error {
	n := int64(0)
	for _, f := range sum.Files {
		n += f.Quarantined
	}
	if r.strict && n > 0 {
		return fmt.Errorf("%d rows were quarantined and --strict is set; see them with: faultgrain export --format csv", n)
	}
	return nil
}

func printIngest(w io.Writer, sum ingest.Summary) {
	t := tabwriter.NewWriter(w, 0, 4, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "read\taccepted\tquarantined\tduplicate\t  file")
	for _, f := range sum.Files {
		fmt.Fprintf(t, "%d\t%d\t%d\t%d\t  %s\n", f.Read, f.Accepted, f.Quarantined, f.Duplicate, f.Name)
	}
	_ = t.Flush()
	for _, f := range sum.Files {
		if len(f.Skipped) > 0 {
			fmt.Fprintf(w, "%s: not read, for it holds something else: %s\n", f.Name, strings.Join(f.Skipped, ", "))
		}
		for _, doubt := range f.Doubts {
			fmt.Fprintf(w, "%s: %s\n", f.Name, doubt)
		}
	}
	fmt.Fprintf(w, "history: %d visits, %d faults, %d part lines, %d rows in quarantine\n", sum.Visits, sum.Faults, sum.Parts, sum.Quarantined)
}
