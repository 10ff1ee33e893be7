package shares

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"faultgrain/schemas"
)

const monthLayout = "2006-01"

// A Fleet says how many devices of a model were out there in each month.
type Fleet struct {
	units map[fleetMonth]float64
	total map[string]float64 // device-months by model
}

type fleetMonth struct{ model, month string }

// LoadFleet reads fleet.csv: the columns model, month (2026-05) and units (devices in use that month),
// in any order, found by header. models are the log's; case and spacing do not matter. A model the log
// does not know, a month given twice or a count below 0 is an error with its line.
func LoadFleet(path string, models []string) (*Fleet, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("fleet: %w", err)
	}
	defer f.Close()
	return readFleet(f, path, models)
}

func readFleet(r io.Reader, name string, models []string) (*Fleet, error) {
	in := csv.NewReader(r)
	in.TrimLeadingSpace = true
	header, err := in.Read()
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("%s: empty file, want the columns model, month, units", name)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	for i := range header {
		header[i] = strings.ToLower(strings.TrimSpace(strings.TrimPrefix(header[i], "\ufeff")))
	}
	model, month, units := slices.Index(header, "model"), slices.Index(header, "month"), slices.Index(header, "units")
	if min(model, month, units) < 0 {
		return nil, fmt.Errorf("%s:1: found the columns %s, want model, month, units", name, strings.Join(header, ", "))
	}
	known := map[string]string{}
	for _, m := range models {
		known[plain(m)] = m
	}
	fleet := &Fleet{units: map[fleetMonth]float64{}, total: map[string]float64{}}
	for {
		line, err := in.Read()
		if errors.Is(err, io.EOF) {
			return fleet, nil
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		bad := func(column int, want string) error {
			n, _ := in.FieldPos(column)
			return fmt.Errorf("%s:%d: column %q: found %q, %s", name, n, header[column], line[column], want)
		}
		m, ok := known[plain(line[model])]
		if !ok {
			want := "no visit of that model is in the log"
			if near := schemas.Nearest(line[model], models); near != "" {
				want += fmt.Sprintf("; did you mean %q?", near)
			}
			return nil, bad(model, want)
		}
		at, err := time.Parse(monthLayout, strings.TrimSpace(line[month]))
		if err != nil {
			return nil, bad(month, "want a month such as 2026-05")
		}
		n, err := strconv.ParseFloat(strings.TrimSpace(line[units]), 64)
		if err != nil || !(n >= 0 && n <= 1e12) {
			return nil, bad(units, "want a count of devices, 0 or more")
		}
		key := fleetMonth{m, at.Format(monthLayout)}
		if _, twice := fleet.units[key]; twice {
			return nil, bad(month, fmt.Sprintf("%s is given twice for that month", m))
		}
		fleet.units[key] = n
		fleet.total[m] += n
	}
}

func plain(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), " ")) }
