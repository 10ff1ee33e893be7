package main

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/pflag"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/pool"
	"faultgrain/schemas"
)

func poolVerb() verb {
	return verb{
		name: "pool", args: "BUNDLE...", about: "put the bundles of several shops together",
		examples: []string{"faultgrain pool may.zip other.zip third.zip", "faultgrain pool may.zip other.zip --out together"},
		setup: func(f *pflag.FlagSet) action {
			var t talk
			var out, shop string
			var seed uint64
			f.StringVar(&shop, "shop", "", "the shop's settings, a TOML file, for the report")
			f.Uint64Var(&seed, "seed", 1, "seed of the simulations")
			addOut(f, &out)
			t.add(f)
			return func(ctx context.Context, s streams, args []string) error {
				if len(args) == 0 {
					return usagef("missing BUNDLE: make one with faultgrain share, and ask others for theirs")
				}
				settings, err := schemas.LoadSettings(shop)
				if err != nil {
					return err
				}
				return poolAll(ctx, s, args, out, seed, settings, t)
			}
		},
	}
}

// poolSummary is what pool --json prints.
type poolSummary struct {
	Shops   []string `json:"shops"`
	Models  int      `json:"models"`
	Pool    int      `json:"pool"` // rows of the tables
	Pairs   int      `json:"pool_pairs"`
	Batches int      `json:"pool_batches"`
	Page    string   `json:"page"`
}

func poolAll(ctx context.Context, s streams, paths []string, out string, seed uint64, settings schemas.Settings, t talk) error {
	bar := newProgress(s.err, t.quiet)
	defer bar.close()
	bar.at(step{stage: "check the bundles"})
	shops, err := pool.Load(ctx, paths)
	if err != nil {
		return err
	}
	bar.at(step{stage: "put them together"})
	tables, err := pool.Compute(ctx, shops, pool.Options{Seed: seed})
	if err != nil {
		return err
	}
	if err := tables.Write(out); err != nil {
		return err
	}
	bar.close()
	page, err := draw(ctx, s, out, "", settings, t)
	if err != nil {
		return err
	}
	if t.json {
		sum := poolSummary{Models: models(tables), Pool: len(tables.Pool), Pairs: len(tables.Pairs), Batches: len(tables.Batches), Page: page}
		for _, shop := range shops {
			sum.Shops = append(sum.Shops, shop.Name)
		}
		return writeJSON(s.out, sum)
	}
	printPool(s.out, shops, tables)
	fmt.Fprintln(s.out, "report:", page)
	return nil
}

func models(t *pool.Tables) int {
	seen := map[string]bool{}
	for _, r := range t.Pool {
		seen[r.Model] = true
	}
	return len(seen)
}

func printPool(w io.Writer, shops []pool.Shop, t *pool.Tables) {
	fmt.Fprintf(w, "%s, %s, %s of what fails on which\n", findings.Counted(len(shops), "shop"), findings.Counted(models(t), "model"), findings.Counted(len(t.Pool), "row"))
	for _, b := range t.Batches {
		fmt.Fprintf(w, "- %s on %s in %s from %s to %s: %s, where %s were expected. A reason to look, not a recall.\n",
			b.Component, b.Node, findings.Counted(b.Shops, "shop"), b.WindowStart, b.WindowEnd, findings.OfN(b.Observed, b.Visits), findings.Number(b.Expected.V))
	}
	if len(t.Batches) == 0 {
		fmt.Fprintln(w, "no fault rises in several shops at once")
	}
}
