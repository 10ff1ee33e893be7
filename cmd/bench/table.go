package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"runtime"
	"slices"
	"strings"
)

// A table is the Markdown page that is printed as it grows.
type table struct {
	io.Writer
	text  *bytes.Buffer
	sizes []sizeResult
}

func newTable(out io.Writer) *table {
	text := &bytes.Buffer{}
	t := &table{io.MultiWriter(out, text), text, nil}
	fmt.Fprintf(t, "# Speed, as measured\n\nWritten by `make bench`; what is measured, and how, stands in cmd/bench. Machine: %s\n", machine())
	return t
}

func (t *table) size(s sizeResult) {
	t.heading(fmt.Sprintf("%s visits, a log of %s", grouped(s.visits), megabytes(s.bytes)))
}

// heading starts the table of one log.
func (t *table) heading(of string) {
	fmt.Fprintf(t, "\n## %s\n\n", of)
	fmt.Fprintln(t, "| step | seconds | processor seconds | visits per second | peak memory |")
	fmt.Fprintln(t, "|---|---|---|---|---|")
}

func (t *table) row(step string, c cost, visits int64) {
	rate := ""
	if visits > 0 {
		rate = grouped(int64(float64(visits) / c.seconds))
	}
	fmt.Fprintf(t, "| %s | %.2f | %.2f | %s | %s |\n", step, c.seconds, c.cpu, rate, megabytes(c.peak))
}

// summary puts the sizes side by side.
func (t *table) summary() {
	fmt.Fprint(t, "\n## All sizes: medians\n\n")
	fmt.Fprintln(t, "Total is ingest, analyse and report, each a process of its own. Growth is the total over that of the size before, per tenfold.")
	fmt.Fprintln(t, "Copy is DuckDB's own CSV-to-Parquet copy of the log; pandas a plain script that reads the log and counts per model, part and month, narrow when told to read those three columns only.")
	fmt.Fprint(t, "\n| visits | ingest | analyse | report | total | growth | peak memory | copy | ingest / copy | pandas | narrow | pandas / total | a month more | exported anew, 1 in 1000 changed |\n")
	fmt.Fprintln(t, strings.Repeat("|---", 14)+"|")
	before := 0.0
	for _, s := range t.sizes {
		ours := slices.Clone(s.ours)
		slices.Sort(ours)
		total := ours[len(ours)/2]
		growth, pandas, narrow, ratio := "", "not installed", "", ""
		if before > 0 {
			growth = fmt.Sprintf("%.1f", total/before)
		}
		before = total
		if c, ok := s.steps["pandas"]; ok {
			narrow = fmt.Sprintf("%.2f s", s.steps["narrow pandas"].seconds)
			pandas, ratio = fmt.Sprintf("%.2f s", c.seconds), fmt.Sprintf("%.2f", c.seconds/total)
		}
		peak := max(s.steps["ingest"].peak, s.steps["analyse"].peak, s.steps["report"].peak)
		fmt.Fprintf(t, "| %s | %.2f s | %.2f s | %.2f s | **%.2f s** | %s | %s | %.2f s | %.2f | %s | %s | %s | %.2f s | %.2f s |\n",
			grouped(s.visits), s.steps["ingest"].seconds, s.steps["analyse"].seconds, s.steps["report"].seconds, total, growth, megabytes(peak),
			s.steps["copy"].seconds, s.steps["ingest"].seconds/s.steps["copy"].seconds, pandas, narrow, ratio,
			s.steps["a month more"].seconds, s.steps["exported anew"].seconds)
	}
}

// machine says what this was measured on, as far as the system tells.
func machine() string {
	parts := []string{fmt.Sprintf("%d processors", runtime.NumCPU()), runtime.GOOS + "/" + runtime.GOARCH, runtime.Version()}
	for _, from := range []struct{ file, key, name string }{
		{"/proc/cpuinfo", "model name", ""}, {"/proc/meminfo", "MemTotal", "memory "},
	} {
		raw, err := os.ReadFile(from.file)
		if err != nil {
			continue
		}
		for line := range strings.Lines(string(raw)) {
			if key, value, ok := strings.Cut(line, ":"); ok && strings.TrimSpace(key) == from.key {
				parts = append(parts, from.name+strings.TrimSpace(value))
				break
			}
		}
	}
	if raw, err := os.ReadFile("/proc/loadavg"); err == nil {
		parts = append(parts, "load at the start "+strings.Join(strings.Fields(string(raw))[:2], ", "))
	}
	return strings.Join(parts, ", ") + "."
}

func megabytes(n int64) string {
	if n == 0 {
		return ""
	}
	return grouped(n>>20) + " MB"
}

// grouped writes a number with its thousands apart.
func grouped(n int64) string {
	s := fmt.Sprint(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + " " + s[i:]
	}
	return s
}
