package main

import (
	"context"
	"fmt"

	"github.com/spf13/pflag"

	"faultgrain/ingest/history"
)

func verifyVerb() verb {
	return verb{
		name: "verify", args: "", about: "check that the history is whole, byte by byte",
		examples: []string{"faultgrain verify --history history"},
		setup: func(f *pflag.FlagSet) action {
			var t talk
			var dir string
			addHistory(f, &dir)
			t.add(f)
			return func(ctx context.Context, s streams, args []string) error {
				if err := none(args); err != nil {
					return err
				}
				problems, err := history.Verify(ctx, dir)
				if err != nil {
					return err
				}
				if t.json {
					if err := writeJSON(s.out, map[string]any{"history": dir, "problems": problems}); err != nil {
						return err
					}
				}
				if len(problems) == 0 {
					if !t.json {
						fmt.Fprintf(s.out, "%s: whole\n", dir)
					}
					return nil
				}
				if !t.json {
					for _, p := range problems {
						fmt.Fprintln(s.out, p)
					}
				}
				return fmt.Errorf("%s: %d problems found", dir, len(problems))
			}
		},
	}
}
