// Command calibrate measures what the statistics promise, and writes it down.
//
//	go run ./analysis/calibrate [--out docs] [--seed 1] [--effort 1] [--only id,id]
//
// Each section counts how often an interval holds the truth, or a test cries wolf, where
// the truth is known: by listing every outcome where that can be done, else by simulation.
// It writes calibration.md for people, with pictures beside it, and calibration.csv for programs,
// section by section: those that are not run stay as they are. The exit status is 1 when a promise
// is broken. The same seed and effort give the same files.
//
// To add a section, write a function that returns a Table and name it in sections.
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"

	"github.com/spf13/pflag"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	code := run(ctx, os.Args[1:], os.Stderr)
	stop()
	os.Exit(code)
}

func run(ctx context.Context, args []string, talk io.Writer) int {
	flags := pflag.NewFlagSet("calibrate", pflag.ContinueOnError)
	flags.SetOutput(talk)
	out := flags.String("out", "docs", "folder for calibration.md and calibration.csv")
	seed := flags.Uint64("seed", 1, "seed of the simulations")
	effort := flags.Float64("effort", 1, "multiplies the number of simulations; 0.1 for a quick look")
	only := flags.StringSlice("only", nil, "ids of the sections to run; the others keep what the files say")
	if err := flags.Parse(args); err != nil {
		return 2
	}
	chosen, err := choose(sections(), *only)
	if err != nil || !(*effort > 0) || flags.NArg() > 0 {
		fmt.Fprintln(talk, "calibrate: want known sections and an effort above 0:", err)
		return 2
	}
	broken := 0
	for _, s := range chosen {
		fmt.Fprintln(talk, "calibrate:", s.ID)
		effort := Effort{Seed: *seed, Times: *effort}
		table, err := s.Run(ctx, effort)
		if err != nil {
			fmt.Fprintf(talk, "calibrate: %s: %v\n", s.ID, err)
			return 1
		}
		for _, b := range table.Broken {
			fmt.Fprintf(talk, "calibrate: %s: broken: %s\n", s.ID, b)
			broken++
		}
		if err := put(*out, Result{s, table, effort}); err != nil { // at once: a stopped run keeps what it has
			fmt.Fprintln(talk, "calibrate:", err)
			return 1
		}
	}
	if broken > 0 {
		return 1
	}
	return 0
}

func choose(all []Section, only []string) ([]Section, error) {
	if len(only) == 0 {
		return all, nil
	}
	var chosen []Section
	for _, id := range only {
		found := false
		for _, s := range all {
			if s.ID == id {
				chosen, found = append(chosen, s), true
			}
		}
		if !found {
			return nil, fmt.Errorf("no section %q; there are %s", id, strings.Join(ids(all), ", "))
		}
	}
	return chosen, nil
}

func ids(all []Section) []string {
	var list []string
	for _, s := range all {
		list = append(list, s.ID)
	}
	return list
}
