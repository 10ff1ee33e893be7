// Command bench measures ingest against DuckDB's own copy of the same CSV to Parquet.
//
// It writes a seeded log, then runs both on it in turn, each in a process of its own, and prints
// seconds, rows per second, peak memory and the ratio of the medians. Nothing it prints is a promise
// about another machine; the ratio is what to look at.
package main

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime"
	"runtime/pprof"
	"slices"
	"strings"
	"time"

	"faultgrain/ingest"

	_ "github.com/duckdb/duckdb-go/v2"
	"github.com/spf13/pflag"
)

type options struct {
	rows    int64
	seed    uint64
	runs    int
	dir     string
	only    string
	log     string
	profile string
	heap    string
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
	flags.Int64Var(&o.rows, "rows", 10_000_000, "rows of the log")
	flags.Uint64Var(&o.seed, "seed", 1, "seed of the log")
	flags.IntVar(&o.runs, "runs", 3, "runs of each, in turn")
	flags.StringVar(&o.dir, "dir", "", "folder for the log and what is made of it; empty is a temporary one")
	flags.StringVar(&o.only, "only", "", "run one of write, copy, ingest on --log and no more")
	flags.StringVar(&o.log, "log", "", "the log of --only")
	flags.StringVar(&o.profile, "profile", "", "with --only ingest: write a CPU profile to this file")
	flags.StringVar(&o.heap, "heap", "", "with --only ingest: write a heap profile to this file, taken when three quarters of the log are read")
	if err := flags.Parse(args); err != nil {
		return err
	}
	if o.only != "" {
		return o.child(ctx, out)
	}
	return o.compare(ctx, out)
}

// child does one piece of work in this process.
func (o *options) child(ctx context.Context, out io.Writer) error {
	switch o.only {
	case "write":
		f, err := os.Create(o.log)
		if err != nil {
			return err
		}
		g := generator{rand: rand.New(rand.NewPCG(o.seed, 0))}
		return errors.Join(g.write(ctx, f, o.rows), f.Close())
	case "copy":
		return rawCopy(ctx, o.log, filepath.Join(o.dir, "copy.parquet"))
	case "ingest":
		if o.profile != "" {
			f, err := os.Create(o.profile)
			if err != nil {
				return err
			}
			defer f.Close()
			if err := pprof.StartCPUProfile(f); err != nil {
				return err
			}
			defer pprof.StopCPUProfile()
		}
		opt := ingest.Options{History: filepath.Join(o.dir, "history")}
		if o.heap != "" {
			opt.Progress = o.heapProfile()
		}
		sum, err := ingest.Run(ctx, []string{o.log}, opt)
		if err != nil {
			return err
		}
		return json.NewEncoder(out).Encode(sum.Files)
	}
	return fmt.Errorf("--only %s is not known, want write, copy or ingest", o.only)
}

// heapProfile writes what is in memory late in the second pass, once.
func (o *options) heapProfile() func(ingest.Progress) {
	done := false
	return func(p ingest.Progress) {
		if done || p.Stage != "read" || p.Done < p.Total/4*3 {
			return
		}
		done = true
		f, err := os.Create(o.heap)
		if err == nil {
			err = errors.Join(pprof.WriteHeapProfile(f), f.Close())
		}
		if err != nil {
			fmt.Fprintln(os.Stderr, "bench: heap profile:", err)
		}
	}
}

// rawCopy is what ingest is measured against.
func rawCopy(ctx context.Context, log, to string) error {
	db, err := sql.Open("duckdb", "")
	if err != nil {
		return err
	}
	defer db.Close()
	quote := func(s string) string { return "'" + strings.ReplaceAll(s, "'", "''") + "'" }
	_, err = db.ExecContext(ctx, fmt.Sprintf("COPY (SELECT * FROM read_csv(%s)) TO %s (FORMAT parquet, COMPRESSION zstd)", quote(log), quote(to)))
	return err
}

// compare runs both in turn and prints the table.
func (o *options) compare(ctx context.Context, out io.Writer) error {
	if o.dir == "" {
		dir, err := os.MkdirTemp("", "faultgrain-bench-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(dir)
		o.dir = dir
	}
	log := filepath.Join(o.dir, fmt.Sprintf("bench-%d-%d.csv", o.rows, o.seed))
	if _, err := os.Stat(log); err != nil {
		if _, err := o.self(ctx, "write", log); err != nil {
			return err
		}
	}
	info, err := os.Stat(log)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%d rows, %d MB, %s/%s, %d processors\n\n", o.rows, info.Size()>>20, runtime.GOOS, runtime.GOARCH, runtime.NumCPU())
	fmt.Fprintf(out, "%-8s %10s %10s %12s %12s\n", "what", "seconds", "CPU s", "rows/s", "peak MB")
	seconds, cpu := map[string][]float64{}, map[string][]float64{}
	for range o.runs {
		for _, what := range []string{"copy", "ingest"} {
			if err := errors.Join(os.RemoveAll(filepath.Join(o.dir, "history")), os.RemoveAll(filepath.Join(o.dir, "copy.parquet"))); err != nil {
				return err
			}
			m, err := o.self(ctx, what, log)
			if err != nil {
				return err
			}
			seconds[what] = append(seconds[what], m.seconds)
			cpu[what] = append(cpu[what], m.cpu)
			fmt.Fprintf(out, "%-8s %10.2f %10.2f %12.0f %12d\n", what, m.seconds, m.cpu, float64(o.rows)/m.seconds, m.peak>>20)
		}
	}
	fmt.Fprintf(out, "\ningest takes %.2f times the raw copy, %.2f times its processor time (medians of %d)\n",
		median(seconds["ingest"])/median(seconds["copy"]), median(cpu["ingest"])/median(cpu["copy"]), o.runs)
	return nil
}

func median(v []float64) float64 {
	slices.Sort(v)
	return v[len(v)/2]
}

type measure struct {
	seconds float64
	cpu     float64 // seconds of all processors
	peak    int64   // bytes; 0 where the system does not tell
}

// self runs one piece of work in a process of its own.
func (o *options) self(ctx context.Context, what, log string) (measure, error) {
	exe, err := os.Executable()
	if err != nil {
		return measure{}, err
	}
	cmd := exec.CommandContext(ctx, exe, "--only", what, "--log", log, "--dir", o.dir, "--rows", fmt.Sprint(o.rows), "--seed", fmt.Sprint(o.seed))
	cmd.Stderr = os.Stderr
	start := time.Now()
	if err := cmd.Run(); err != nil {
		return measure{}, fmt.Errorf("%s: %w", what, err)
	}
	took := time.Since(start)
	busy := cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
	return measure{seconds: took.Seconds(), cpu: busy.Seconds(), peak: peakMemory(cmd.ProcessState)}, nil
}
