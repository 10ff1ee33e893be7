// Package docs carries what was measured about the methods, so that a report can show it.
package docs

import _ "embed"

//go:embed calibration.csv
var calibration string

// Calibration is calibration.csv, as analysis/calibrate wrote it: section, row, column, value.
func Calibration() string { return calibration }
