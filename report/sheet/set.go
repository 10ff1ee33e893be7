package sheet

import (
	"fmt"
	"strings"

	"faultgrain/report/wording"
)

// A table is set in columns as wide as their widest cell; the first one gives way.
type table struct {
	heads []string
	rows  [][]string
}

// add appends a row. The first cell is a name, the others are figures.
func (t *table) add(cells ...string) {
	for i := range cells {
		cells[i] = plain(cells[i])
	}
	t.rows = append(t.rows, cells)
}

const gap = 2

// table sets a table, and says so when it shows less than all rows. A column without a figure is left out.
func (p *page) table(t table, all int) {
	widths := make([]int, len(t.heads))
	used := make([]bool, len(t.heads))
	for i := range t.heads {
		for _, row := range t.rows {
			widths[i] = max(widths[i], wording.Columns(row[i]))
			used[i] = used[i] || i == 0 || row[i] != "-"
		}
		if used[i] {
			widths[i] = max(widths[i], wording.Columns(t.heads[i]))
		}
	}
	rest := 0
	for i := 1; i < len(widths); i++ {
		if used[i] {
			rest += widths[i] + gap
		}
	}
	widths[0] = min(widths[0], max(10, lineColumns-rest))
	line := func(cells []string) {
		var b strings.Builder
		first := clip(cells[0], widths[0])
		b.WriteString(first + strings.Repeat(" ", widths[0]-wording.Columns(first)))
		for i := 1; i < len(cells); i++ {
			if used[i] {
				b.WriteString(strings.Repeat(" ", gap+widths[i]-wording.Columns(cells[i])) + cells[i])
			}
		}
		fmt.Fprintln(&p.b, clip(strings.TrimRight(b.String(), " "), lineColumns))
	}
	line(t.heads)
	for _, row := range t.rows {
		line(row)
	}
	if len(t.rows) < all {
		fmt.Fprintf(&p.b, "(%d of %d)\n", len(t.rows), all)
	}
}

// para sets words in lines, the first one after mark and the others under it.
func (p *page) para(mark, text string) {
	indent := strings.Repeat(" ", len(mark))
	line, free := mark, true
	for _, word := range strings.Fields(plain(text)) {
		if !free && wording.Columns(line)+1+wording.Columns(word) > lineColumns {
			fmt.Fprintln(&p.b, line)
			line, free = indent, true
		}
		if !free {
			line += " "
		}
		line += clip(word, lineColumns-len(mark))
		free = false
	}
	fmt.Fprintln(&p.b, strings.TrimRight(line, " "))
}

// clip shortens text to so many columns.
func clip(text string, most int) string { return wording.Clip(text, most, "~") }
