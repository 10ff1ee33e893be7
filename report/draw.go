package report

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"faultgrain/report/charts"
	"faultgrain/report/layout"
	"faultgrain/report/wording"
)

var unbounded = math.Inf(1)

// draw puts a chart into a block; a form with nothing to draw leaves the block without a figure.
func (s *site) draw(chart func() (charts.Chart, error), b block, f layout.Figure) (block, error) {
	c, err := chart()
	switch {
	case errors.Is(err, charts.ErrEmpty):
		return b, nil
	case err != nil:
		return b, err
	}
	f.Chart = c
	b.Figure = &f
	return b, nil
}

// cut says what a table leaves out; "" when it is whole.
func (s *site) cut(shown, all int, which string) string {
	if shown >= all {
		return ""
	}
	where := "all are in the CSV file"
	if s.single {
		where = "all are in the report's folder"
	}
	return fmt.Sprintf("The %s of %s rows %s; %s.", wording.Count(shown), wording.Count(all), which, where)
}

func head0[T any](rows []T, most int) []T { return rows[:min(len(rows), most)] }

// sortedCounts are the keys with the largest counts first, then by name.
func sortedCounts(counts map[string]int) []string {
	return slices.SortedFunc(maps.Keys(counts), func(a, b string) int {
		return cmp.Or(cmp.Compare(counts[b], counts[a]), cmp.Compare(a, b))
	})
}

func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	if first, rest, ok := strings.Cut(noun, " of "); ok {
		return wording.Count(n) + " " + first + "s of " + rest
	}
	return wording.Count(n) + " " + noun + "s"
}

// verb writes a count with its noun and verb in number.
func verb(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return wording.Count(n) + " " + many
}

func countGrade(list []told, grade string) int {
	n := 0
	for _, t := range list {
		if t.Grade == grade {
			n++
		}
	}
	return n
}

// componentCell is a component's name in a table.
func (s *site) componentCell(component string) layout.Cell {
	return layout.Text(capital(s.name(component)))
}

// valuesOf are the values a column of some rows takes, the most frequent first.
func valuesOf[T any](rows []T, of func(T) string) []string {
	counts := map[string]int{}
	for _, r := range rows {
		counts[of(r)]++
	}
	return sortedCounts(counts)
}

// round0 rounds to a whole number, never -0.
func round0(v float64) float64 { return math.Round(v) + 0 }
