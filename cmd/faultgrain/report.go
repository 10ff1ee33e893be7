package main

import (
	"context"
	"fmt"
	"path/filepath"

	"github.com/spf13/pflag"

	"faultgrain/report"
	"faultgrain/schemas"
)

func reportVerb() verb {
	return verb{
		name: "report", args: "", about: "draw the report from tables and findings",
		examples: []string{"faultgrain report --out brief", "faultgrain report --single-file may.html"},
		setup: func(f *pflag.FlagSet) action {
			var t talk
			var out, shop, notes, single string
			f.StringVar(&shop, "shop", "", "the shop's settings, a TOML file")
			f.StringVar(&notes, "notes", "", "the shop's own remarks, a TOML file")
			f.StringVar(&single, "single-file", "", "write the first page and its tables into this one file instead")
			addOut(f, &out)
			t.add(f)
			return func(ctx context.Context, s streams, args []string) error {
				if err := none(args); err != nil {
					return err
				}
				settings, err := schemas.LoadSettings(shop)
				if err != nil {
					return err
				}
				over(notes, &settings.Notes)
				page, err := draw(ctx, s, out, single, settings, t)
				if err != nil {
					return err
				}
				if t.json {
					return writeJSON(s.out, map[string]string{"page": page})
				}
				fmt.Fprintln(s.out, "report:", page)
				return nil
			}
		},
	}
}

// draw builds the report and returns the page to open.
func draw(ctx context.Context, s streams, out, single string, settings schemas.Settings, t talk) (string, error) {
	bar := newProgress(s.err, t.quiet)
	defer bar.close()
	bar.at(step{stage: "draw the report"})
	if err := report.Build(ctx, report.Options{Out: out, SingleFile: single, Settings: settings}); err != nil {
		return "", err
	}
	if single != "" {
		return single, nil
	}
	return filepath.Join(out, "index.html"), nil
}
