package layout

import (
	"fmt"
	"html/template"
	"strconv"
	"strings"

	"faultgrain/report/charts"
	"faultgrain/report/wording"
	"faultgrain/schemas"
)

// A Figure is a chart with everything that makes it evidence: what it shows in a
// sentence, how to read it, the same figures as a table, and the file they are in.
// In a template: {{template "figure" .Fig}}.
type Figure struct {
	Chart   charts.Chart
	Caption string // how to read it and what it rests on
	Table   Table  // without columns, none is shown
	Summary string // on the table's fold; "" is "The figures (12 rows)"
	CSV     string // link to the CSV file; "" for none, as in a single file
	Open    bool   // show the table unfolded
}

// A Table is shown with sortable columns. In a template: {{template "table" .Table}}.
// The first column names the row.
type Table struct {
	ID      string // "" for none
	Caption string
	Columns []Column
	Rows    [][]Cell // each as long as Columns
	Plain   bool     // no sorting: a few rows whose order means something
	Filter  bool     // with a box that shows only rows holding a word
	Brief   bool     // of its rows, only the first 12 are printed
	Titled  bool     // a heading above says what Caption does, which is kept for screen readers
}

// A Column is a table's column. On a phone a table with more than three of them turns each row
// into a block.
type Column struct {
	Head  string // short, with the unit: "share", "bench minutes"
	Title string // longer explanation, "" for none
	Num   bool   // figures: right-aligned, sorted by Cell.Sort
}

// A Cell is what stands in a table. Sort is the bare number behind Text, "" when
// unknown; unknown cells are sorted last.
type Cell struct {
	Text  string
	Sort  string
	Href  string // makes Text a link
	Note  string // a second, smaller line
	Grade string // firm, leaning or thin: shown as a grade instead of Text
}

// Text is a cell of words.
func Text(s string) Cell { return Cell{Text: s} }

// Anchor is a cell of words that links to a page.
func Anchor(s, href string) Cell { return Cell{Text: s, Href: href} }

// Count is a cell with a whole number.
func Count(n int) Cell { return Cell{Text: wording.Count(n), Sort: strconv.Itoa(n)} }

// Number is a cell that says v with words, such as wording.Share.
func Number(v schemas.Float, words func(float64) string) Cell {
	if !v.OK {
		return Cell{Text: wording.Unknown}
	}
	return Cell{Text: words(v.V), Sort: sortKey(v.V)}
}

// Range is a cell with a figure and its interval below it: 23%, then 14% to 35%.
func Range(v, low, high schemas.Float, words func(float64) string, ranges func(low, high float64) string) Cell {
	c := Number(v, words)
	if v.OK && low.OK && high.OK {
		c.Note = ranges(low.V, high.V)
	}
	return c
}

// Graded is a cell with a grade of evidence, sorted firm first.
func Graded(grade string) Cell {
	order := map[string]string{"firm": "1", "leaning": "2", "thin": "3"}
	return Cell{Grade: grade, Text: grade, Sort: order[grade]}
}

func sortKey(v float64) string {
	text := strconv.FormatFloat(v, 'g', 6, 64)
	if strings.ContainsAny(text, "NI") { // NaN, Inf
		return ""
	}
	return text
}

// classes are the table's classes for report.css and report.js.
func classes(t Table) string {
	var list []string
	if !t.Plain && len(t.Rows) > 1 {
		list = append(list, "sortable")
	}
	if t.Filter {
		list = append(list, "filterable")
	}
	if len(t.Columns) > 3 {
		list = append(list, "wide")
	}
	if long(t) {
		list = append(list, "long")
	}
	if t.Brief {
		list = append(list, "brief")
	}
	return strings.Join(list, " ")
}

// paperRows and briefRows are how many rows of a table are printed; report.css knows the numbers too.
const (
	paperRows = 40
	briefRows = 12
)

// long tells whether a table is too long for a screen.
func long(t Table) bool { return len(t.Rows) > paperRows }

// printed is how many rows of a table paper shows.
func printed(t Table) int {
	if t.Brief {
		return min(len(t.Rows), briefRows)
	}
	return min(len(t.Rows), paperRows)
}

func rows(t Table) string {
	if len(t.Rows) == 1 {
		return "1 row"
	}
	return wording.Count(len(t.Rows)) + " rows"
}

// gradeClass keeps anything but the three grades out of a class name.
func gradeClass(grade string) string {
	switch grade {
	case "firm", "leaning", "thin":
		return grade
	}
	return "none"
}

// shapes draws a key's mark in a 26 by 16 box, in the colour of its class.
var shapes = map[charts.Shape]template.HTML{
	charts.Dot:         `<circle cx="13" cy="8" r="5" fill="currentColor"/>`,
	charts.HalfDot:     `<circle cx="13" cy="8" r="5" class="hollow" stroke="currentColor" stroke-width="2"/><path d="M13 3a5 5 0 0 0 0 10z" fill="currentColor"/>`,
	charts.Ring:        `<circle cx="13" cy="8" r="5" class="hollow" stroke="currentColor" stroke-width="2"/>`,
	charts.Diamond:     `<path d="M13 2l6 6-6 6-6-6z" fill="currentColor"/>`,
	charts.OpenDiamond: `<path d="M13 2.5l5.5 5.5-5.5 5.5-5.5-5.5z" class="hollow" stroke="currentColor" stroke-width="2"/>`,
	charts.Square:      `<path d="M8 3h10v10H8z" fill="currentColor"/>`,
	charts.Whisker:     `<path d="M2 8h22M2 4v8M24 4v8" fill="none" stroke="currentColor" stroke-width="1.75"/>`,
	charts.Box:         `<path d="M4 2.5h18v11H4z" fill="currentColor" fill-opacity=".28" stroke="currentColor" stroke-width="1.75"/>`,
	charts.DashBox:     `<path d="M4 3h18v10H4z" class="hollow" stroke="currentColor" stroke-width="1.5" stroke-dasharray="3 3"/>`,
	charts.Tick:        `<path d="M13 1v14" stroke="currentColor" stroke-width="3"/>`,
	charts.Line:        `<path d="M1 8h24" stroke="currentColor" stroke-width="2"/>`,
	charts.Thick:       `<path d="M1 8h24" stroke="currentColor" stroke-width="5"/>`,
	charts.Dash:        `<path d="M0 8h26" stroke="currentColor" stroke-width="2" stroke-dasharray="7 4"/>`,
	charts.Dots:        `<path d="M0 8h26" stroke="currentColor" stroke-width="2" stroke-dasharray="2 3"/>`,
	charts.LongDash:    `<path d="M0 8h26" stroke="currentColor" stroke-width="2" stroke-dasharray="14 5"/>`,
	charts.DashDot:     `<path d="M0 8h26" stroke="currentColor" stroke-width="2" stroke-dasharray="9 3 2 3"/>`,
	charts.Area:        `<path d="M1 2h24v12H1z" fill="currentColor" fill-opacity=".25"/>`,
	charts.Cell:        `<path d="M5 1h16v14H5z" fill="currentColor"/>`,
	charts.FirmCell:    `<path d="M6 2h14v12H6z" class="hollow" stroke="currentColor" stroke-width="2"/>`,
}

func shape(s charts.Shape) (template.HTML, error) {
	svg, ok := shapes[s]
	if !ok {
		return "", fmt.Errorf("no drawing for key shape %q", s)
	}
	return svg, nil
}
