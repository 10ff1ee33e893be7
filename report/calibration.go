package report

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"faultgrain/docs"
)

// A measured is a row of the calibration: what was tried and what came out, by column.
type measured map[string]string

// calibration reads the measured rows by section, in order.
func calibration() (map[string][]measured, error) {
	in := csv.NewReader(strings.NewReader(docs.Calibration()))
	in.FieldsPerRecord = 4
	sections, last := map[string][]measured{}, ""
	for {
		line, err := in.Read()
		if errors.Is(err, io.EOF) {
			return sections, nil
		}
		if err != nil {
			return nil, fmt.Errorf("docs/calibration.csv: %w", err)
		}
		section, row, column, value := line[0], line[1], line[2], line[3]
		if section == "section" {
			continue
		}
		if key := section + " " + row; key != last {
			sections[section] = append(sections[section], measured{})
			last = key
		}
		sections[section][len(sections[section])-1][column] = value
	}
}

// A measure picks figures out of the calibration: one column of the rows of a section that fit.
type measure struct {
	section, column string
	where, is       string // only rows whose column where is so; "" for all
	words           string // what the figures are: "the interval holds the truth in"
}

// say writes the smallest and the largest figure: "... 94.5% to 95.5% of trials, over 7 settings".
// "" when nothing was measured.
func (m measure) say(sections map[string][]measured) string {
	n, low, high := 0, 0.0, 0.0
	for _, row := range sections[m.section] {
		if m.where != "" && row[m.where] != m.is {
			continue
		}
		v, err := strconv.ParseFloat(row[m.column], 64)
		if err != nil {
			continue // not measured in this setting
		}
		if n == 0 || v < low {
			low = v
		}
		if n == 0 || v > high {
			high = v
		}
		n++
	}
	if n == 0 {
		return ""
	}
	percent := func(v float64) string { return strconv.FormatFloat(v*100, 'f', 1, 64) + "%" }
	text := percent(low)
	if percent(high) != text {
		text += " to " + percent(high)
	}
	return fmt.Sprintf("%s %s, over %s", m.words, text, plural(n, "setting"))
}
