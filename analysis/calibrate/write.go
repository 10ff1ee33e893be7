package main

import (
	"encoding/csv"
	"fmt"
	"strings"
)

// Markdown is the document: a table per section with its promise above it.
func Markdown(results []Result) string {
	var b strings.Builder
	b.WriteString("# Calibration: what was promised and what was measured\n\n")
	b.WriteString("Written by `go run ./analysis/calibrate`; do not edit. Coverage is how often an interval holds the\n")
	b.WriteString("truth, type I error how often a test finds what is not there. Both are shares. Nominal is 95% and\n")
	b.WriteString("5% unless said. The numbers are also in calibration.csv.\n\n")
	for _, r := range results {
		verdict := "held"
		if len(r.Broken) > 0 {
			verdict = "broken"
		}
		fmt.Fprintf(&b, "## %s\n\n%s\n\n**Promise** (%s): %s\n\n", r.Title, r.About, verdict, r.Promise)
		for _, s := range r.Broken {
			fmt.Fprintf(&b, "- broken: %s\n", s)
		}
		if len(r.Broken) > 0 {
			b.WriteString("\n")
		}
		row := func(cells []string) { fmt.Fprintf(&b, "| %s |\n", strings.Join(cells, " | ")) }
		row(r.Columns)
		b.WriteString(strings.Repeat("|---", len(r.Columns)) + "|\n")
		for _, cells := range r.Rows {
			row(cells)
		}
		b.WriteString("\n")
	}
	return b.String()
}

// CSV is the same, long: section, row (counted from 1), column, value.
func CSV(results []Result) string {
	var b strings.Builder
	w := csv.NewWriter(&b)
	write := func(cells ...string) { _ = w.Write(cells) } // a strings.Builder does not fail
	write("section", "row", "column", "value")
	for _, r := range results {
		for i, cells := range r.Rows {
			for j, c := range cells {
				write(r.ID, fmt.Sprint(i+1), r.Columns[j], c)
			}
		}
	}
	w.Flush()
	return b.String()
}
