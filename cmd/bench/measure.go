package main

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

//go:embed count.py
var countScript string

// A cost is what one process took.
type cost struct {
	seconds float64
	cpu     float64 // seconds of all processors
	peak    int64   // bytes; 0 where the system does not tell
}

// A sizeResult is what was measured at one size: the median run of each step.
type sizeResult struct {
	visits, bytes int64
	steps         map[string]cost
	ours          []float64 // seconds of ingest, analyse and report together, per run
}

// measure runs every step at one size.
func (o *options) measure(ctx context.Context, visits int64, t *table) (sizeResult, error) {
	s := sizeResult{visits: visits, steps: map[string]cost{}}
	log := filepath.Join(o.dir, fmt.Sprintf("visits-%d.csv", visits))
	if _, err := o.self(ctx, "write", log, visits); err != nil {
		return s, err
	}
	defer os.Remove(log)
	info, err := os.Stat(log)
	if err != nil {
		return s, err
	}
	s.bytes = info.Size()
	t.size(s)
	pandas := o.hasPandas(ctx)
	all := map[string][]cost{}
	for range o.runs {
		if err := o.forget("history", "brief", "copy.parquet"); err != nil {
			return s, err
		}
		total := 0.0
		for _, step := range []string{"copy", "ingest", "pandas", "analyse", "narrow pandas", "report"} {
			var c cost
			var err error
			switch step {
			case "copy":
				c, err = o.self(ctx, step, log, visits)
			case "pandas", "narrow pandas":
				if !pandas {
					continue
				}
				c, err = o.run(ctx, step, o.python, "-c", countScript, log, filepath.Join(o.dir, "counts.csv"), strings.Fields(step)[0])
			default:
				c, err = o.ours(ctx, step, []string{log}, "")
				total += c.seconds
			}
			if err != nil {
				return s, err
			}
			all[step] = append(all[step], c)
			t.row(step, c, visits)
		}
		s.ours = append(s.ours, total)
	}
	for step, costs := range all {
		s.steps[step] = median(costs)
	}
	return s, o.later(ctx, &s, t)
}

// later measures what a month adds to the history that stands, and a whole export in which little changed.
func (o *options) later(ctx context.Context, s *sizeResult, t *table) error {
	log := filepath.Join(o.dir, "later.csv")
	defer os.Remove(log)
	for _, l := range []struct {
		step string
		args []string
	}{
		{"a month more", []string{"--first", fmt.Sprint(s.visits + 1)}},
		{"exported anew", []string{"--edited", "1000"}},
	} {
		if _, err := o.self(ctx, "write", log, s.visits, l.args...); err != nil {
			return err
		}
		c, err := o.ours(ctx, "ingest", []string{log}, "")
		if err != nil {
			return err
		}
		s.steps[l.step] = c
		t.row(l.step, c, 0)
	}
	return o.forget("history", "brief", "copy.parquet", "counts.csv")
}

func (o *options) forget(names ...string) error {
	var errs []error
	for _, n := range names {
		errs = append(errs, os.RemoveAll(filepath.Join(o.dir, n)))
	}
	return errors.Join(errs...)
}

// self runs one step of this program in a process of its own.
func (o *options) self(ctx context.Context, step, log string, visits int64, more ...string) (cost, error) {
	exe, err := os.Executable()
	if err != nil {
		return cost{}, err
	}
	args := []string{"--only", step, "--log", log, "--dir", o.dir, "--visits", fmt.Sprint(visits), "--seed", fmt.Sprint(o.seed)}
	return o.run(ctx, step, exe, append(args, more...)...)
}

// ours runs a verb of the program; settings is the shop.toml, empty for none.
func (o *options) ours(ctx context.Context, verb string, logs []string, settings string) (cost, error) {
	history, out := filepath.Join(o.dir, "history"), filepath.Join(o.dir, "brief")
	args := map[string][]string{
		"ingest":  append([]string{"--history", history}, logs...),
		"analyse": {"--history", history, "--out", out, "--seed", fmt.Sprint(o.seed)},
		"report":  {"--out", out},
	}[verb]
	if settings != "" {
		args = append(args, "--shop", settings)
	}
	return o.run(ctx, verb, o.program, append([]string{verb, "--quiet"}, args...)...)
}

func (o *options) run(ctx context.Context, what, program string, args ...string) (cost, error) {
	cmd := exec.CommandContext(ctx, program, args...)
	cmd.Stderr = os.Stderr
	start := time.Now()
	if err := cmd.Run(); err != nil {
		return cost{}, fmt.Errorf("%s: %w", what, err)
	}
	took := time.Since(start)
	busy := cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
	return cost{seconds: took.Seconds(), cpu: busy.Seconds(), peak: peakMemory(cmd.ProcessState)}, nil
}

func (o *options) hasPandas(ctx context.Context) bool {
	return exec.CommandContext(ctx, o.python, "-c", "import pandas").Run() == nil
}

// median is the run in the middle by seconds, with the largest peak of all.
func median(costs []cost) cost {
	costs = slices.Clone(costs)
	slices.SortFunc(costs, func(a, b cost) int { return int((a.seconds - b.seconds) * 1e6) })
	m := costs[len(costs)/2]
	for _, c := range costs {
		m.peak = max(m.peak, c.peak)
	}
	return m
}
