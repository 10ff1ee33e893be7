package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

const (
	mdName  = "calibration.md"
	csvName = "calibration.csv"
	figures = "calibration" // folder
)

const preamble = `# Calibration: what was promised and what was measured

Written by ` + "`go run ./analysis/calibrate`" + `; do not edit. Coverage is how often an interval holds the
truth, type I error how often a test finds what is not there. Both are shares. Nominal is 95% and
5% unless said. Each section says its seed and effort (1 is the usual number of simulations) and
can be measured again by itself with ` + "`--only`" + `. The numbers are also in calibration.csv.

`

// A document is the two files, section by section.
type document struct {
	text map[string]string     // by title, from its heading on
	rows map[string][][]string // by section: lines of the CSV
}

// open reads what is there, if anything.
func open(dir string) (document, error) {
	d := document{map[string]string{}, map[string][][]string{}}
	md, err := os.ReadFile(filepath.Join(dir, mdName))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return d, err
	}
	for _, block := range strings.Split("\n"+string(md), "\n## ")[1:] {
		title, _, _ := strings.Cut(block, "\n")
		d.text[title] = "## " + strings.TrimRight(block, "\n") + "\n\n"
	}
	f, err := os.Open(filepath.Join(dir, csvName))
	if errors.Is(err, fs.ErrNotExist) {
		return d, nil
	}
	if err != nil {
		return d, err
	}
	defer f.Close()
	in := csv.NewReader(f)
	in.FieldsPerRecord = 4
	lines, err := in.ReadAll()
	if err != nil {
		return d, fmt.Errorf("%s: %w", csvName, err)
	}
	for _, l := range lines {
		d.rows[l[0]] = append(d.rows[l[0]], l)
	}
	return d, nil
}

// put replaces a section in the files, and its pictures. It reads them anew, for another run may measure other
// sections meanwhile.
func put(dir string, r Result) error {
	d, err := open(dir)
	if err != nil {
		return err
	}
	d.text[r.Title] = Markdown(r)
	d.rows[r.ID] = nil
	for i, cells := range r.Rows {
		for j, c := range cells {
			d.rows[r.ID] = append(d.rows[r.ID], []string{r.ID, fmt.Sprint(i + 1), r.Columns[j], c})
		}
	}
	for _, f := range r.Figures {
		if err := save(filepath.Join(dir, figures, f.Name+".svg"), f.SVG); err != nil {
			return err
		}
	}
	var md, rows strings.Builder
	md.WriteString(preamble)
	w := csv.NewWriter(&rows)
	_ = w.Write([]string{"section", "row", "column", "value"}) // a strings.Builder does not fail
	for _, s := range sections() {
		md.WriteString(d.text[s.Title])
		_ = w.WriteAll(d.rows[s.ID])
	}
	w.Flush()
	if err := save(filepath.Join(dir, mdName), md.String()); err != nil {
		return err
	}
	return save(filepath.Join(dir, csvName), rows.String())
}

// Markdown is a section: its table with its promise above it, and its pictures.
func Markdown(r Result) string {
	var b strings.Builder
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
	for _, f := range r.Figures {
		fmt.Fprintf(&b, "\n![%s](%s/%s.svg)\n", f.Alt, figures, f.Name)
	}
	fmt.Fprintf(&b, "\nSeed %d, effort %v.\n\n", r.Seed, r.Times)
	return b.String()
}

// save writes to a temporary name and renames, so that a stopped run leaves the old file.
func save(name, text string) error {
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		return err
	}
	if err := os.WriteFile(name+".tmp", []byte(text), 0o644); err != nil {
		return err
	}
	return os.Rename(name+".tmp", name)
}
