// Command bench measures the whole way from a log to the report, at growing sizes, beside two yardsticks that do
// much less with the same file: DuckDB's own copy of it to Parquet, and a plain pandas script that counts.
//
// Each piece of work runs in a process of its own, one after the other, yardsticks and ours in turn. Nothing it
// prints is a promise about another machine; ratios and growth are what to look at.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"

	"github.com/spf13/pflag"
)

type options struct {
	sizes   []int64
	seed    uint64
	runs    int
	dir     string
	out     string
	program string
	python  string
	only    string
	log     string
	first   int64
	edited  int64
	profile string
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	err := bench(ctx, os.Args[1:], os.Stdout)
	stop()
	if err != nil && !errors.Is(err, pflag.ErrHelp) {
		fmt.Fprintln(os.Stderr, "bench:", err)
		os.Exit(1)
	}
}

func bench(ctx context.Context, args []string, out io.Writer) error {
	var o options
	flags := pflag.NewFlagSet("bench", pflag.ContinueOnError)
	flags.Int64SliceVar(&o.sizes, "visits", []int64{10_000, 100_000, 1_000_000, 10_000_000}, "tickets of the logs, smallest first")
	flags.Uint64Var(&o.seed, "seed", 1, "seed of the logs")
	flags.IntVar(&o.runs, "runs", 3, "runs of each step, in turn; the median counts")
	flags.StringVar(&o.dir, "dir", "", "folder for the logs and what is made of them; empty is a temporary one")
	flags.StringVar(&o.out, "out", "", "write the tables to this Markdown file, too")
	flags.StringVar(&o.program, "program", "bin/faultgrain", "the program that is measured")
	flags.StringVar(&o.python, "python", "python3", "the Python whose pandas is the yardstick; without pandas it is left out")
	flags.StringVar(&o.only, "only", "", "do this one step in --dir in this process and no more: write, shop, copy, ingest, analyse or report")
	flags.StringVar(&o.log, "log", "", "the log of --only")
	flags.Int64Var(&o.first, "first", 1, "with --only write: number of the first ticket")
	flags.Int64Var(&o.edited, "edited", 0, "with --only write: every so many tickets has another charge")
	flags.StringVar(&o.profile, "profile", "", "with --only: write a CPU profile to this file")
	if err := flags.Parse(args); err != nil {
		return err
	}
	if o.only != "" {
		return o.step(ctx)
	}
	if o.dir == "" {
		dir, err := os.MkdirTemp("", "faultgrain-bench-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(dir)
		o.dir = dir
	}
	t := newTable(out)
	if err := o.measureShop(ctx, t); err != nil {
		return err
	}
	for _, n := range o.sizes {
		s, err := o.measure(ctx, n, t)
		if err != nil {
			return err
		}
		t.sizes = append(t.sizes, s)
	}
	t.summary()
	if o.out == "" {
		return nil
	}
	return os.WriteFile(filepath.Clean(o.out), t.text.Bytes(), 0o644)
}
