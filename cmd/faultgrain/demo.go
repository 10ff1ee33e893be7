package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/pflag"

	"faultgrain/analysis/bundle"
	"faultgrain/demo"
	"faultgrain/schemas"
)

func demoVerb() verb {
	return verb{
		name: "demo", args: "", about: "make up three shops and run everything on their logs",
		examples: []string{"faultgrain demo --out demo-out"},
		setup: func(f *pflag.FlagSet) action {
			var t talk
			var out string
			var seed uint64
			f.StringVar(&out, "out", "demo-out", "folder of the made-up shops")
			f.Uint64Var(&seed, "seed", demo.DefaultSeed, "another seed, another noise")
			f.BoolVar(&t.quiet, "quiet", false, "no progress")
			return func(ctx context.Context, s streams, args []string) error {
				if err := none(args); err != nil {
					return err
				}
				return playDemo(ctx, s, out, seed, t)
			}
		},
	}
}

func playDemo(ctx context.Context, s streams, out string, seed uint64, t talk) error {
	files, err := demo.Write(ctx, out, demo.Options{Seed: seed})
	if err != nil {
		return err
	}
	for _, shop := range files.Shops {
		fmt.Fprintf(s.out, "== %s (%s)\n", shop.Name, shop.Dir)
		history := filepath.Join(shop.Dir, "history")
		// An earlier demo, perhaps of another seed, must not stand in this one's history.
		if err := os.RemoveAll(history); err != nil {
			return err
		}
		r := reading{shop: shop.Settings, columns: shop.Columns}
		d := deciding{seed: 1, flags: pflag.NewFlagSet("demo", pflag.ContinueOnError)}
		if err := runAll(ctx, s, shop.Logs, history, filepath.Join(shop.Dir, "brief"), r, d, t); err != nil {
			return fmt.Errorf("%s: %w", shop.Name, err)
		}
	}
	if err := poolDemo(ctx, s, files.Shops, t); err != nil {
		return err
	}
	fmt.Fprintln(s.out, "the story these logs hold, and should be found in them: demo/README.md")
	return nil
}

// poolDemo has each shop share a bundle, and puts them together in the report of the first shop.
func poolDemo(ctx context.Context, s streams, shops []demo.ShopFiles, t talk) error {
	var bundles []string
	for _, shop := range shops {
		fmt.Fprintf(s.out, "== %s shares\n", shop.Name)
		settings, err := schemas.LoadSettings(shop.Settings)
		if err != nil {
			return err
		}
		g := sharing{history: filepath.Join(shop.Dir, "history"), out: filepath.Join(shop.Dir, "bundle.zip"), name: shop.Name, threshold: bundle.LeastThreshold}
		if err := g.makeBundle(ctx, s, settings, talk{quiet: t.quiet}); err != nil {
			return fmt.Errorf("%s: %w", shop.Name, err)
		}
		bundles = append(bundles, g.out)
	}
	fmt.Fprintln(s.out, "== all of them together")
	first, err := schemas.LoadSettings(shops[0].Settings)
	if err != nil {
		return err
	}
	return poolAll(ctx, s, bundles, filepath.Join(shops[0].Dir, "brief"), 1, first, t)
}
