package main

import (
	"time"

	"github.com/spf13/pflag"

	"faultgrain/schemas"
)

func addHistory(f *pflag.FlagSet, history *string) {
	f.StringVar(history, "history", "history", "folder of the history")
}

func addOut(f *pflag.FlagSet, out *string) {
	f.StringVar(out, "out", "brief", "folder of tables, findings and report")
}

// reading are the flags that say how logs are read.
type reading struct {
	shop, columns, components, models string
	dates, encoding, delimiter, sheet string
	strict                            bool
}

func (r *reading) add(f *pflag.FlagSet) {
	f.StringVar(&r.shop, "shop", "", "the shop's settings, a TOML file")
	f.StringVar(&r.columns, "columns", "", "what the log's columns mean, a TOML file (draft it with: faultgrain columns LOG)")
	f.StringVar(&r.components, "components", "", "the shop's own components, a TOML file")
	f.StringVar(&r.models, "models", "", "the shop's own models, a TOML file")
	f.StringVar(&r.dates, "dates", "", "read 03/04/2026 as day-first or month-first")
	f.StringVar(&r.encoding, "encoding", "", "the log's encoding, such as utf-8 or windows-1252 (default: detected)")
	f.StringVar(&r.delimiter, "delimiter", "", "the log's delimiter, such as ; or tab (default: detected)")
	f.StringVar(&r.sheet, "sheet", "", "the sheet of a workbook (default: all sheets)")
	f.BoolVar(&r.strict, "strict", false, "exit 1 when a row was quarantined")
}

func (r *reading) settings() (schemas.Settings, error) {
	switch r.dates {
	case "", "day-first", "month-first":
	default:
		return schemas.Settings{}, usagef("--dates: found %q, want day-first or month-first", r.dates)
	}
	return schemas.LoadSettings(r.shop)
}

// deciding are the flags that say what the analysis rests on.
type deciding struct {
	stock, fleet, notes, asOf string
	seed                      uint64
	budget                    float64
	lookBack                  bool

	flags *pflag.FlagSet
}

func (d *deciding) add(f *pflag.FlagSet) {
	d.flags = f
	f.StringVar(&d.stock, "stock", "", "what is on the shelf, a CSV file")
	f.StringVar(&d.fleet, "fleet", "", "devices in use by model and month, a CSV file")
	f.StringVar(&d.notes, "notes", "", "the shop's own remarks, a TOML file")
	f.StringVar(&d.asOf, "as-of", "", "the day the report speaks of, 2026-05-31 (default: the last day in the log)")
	f.Uint64Var(&d.seed, "seed", 1, "seed of the simulations")
	f.Float64Var(&d.budget, "budget", 0, "most money to spend on the order list (default: no limit)")
	f.BoolVar(&d.lookBack, "look-back", false, "also list the alarms that would have been raised in the past")
}

// day parses --as-of in the shop's zone; the zero time when not given.
func (d *deciding) day(zone *time.Location) (time.Time, error) {
	if d.asOf == "" {
		return time.Time{}, nil
	}
	t, err := time.ParseInLocation(time.DateOnly, d.asOf, zone)
	if err != nil {
		return time.Time{}, usagef("--as-of: found %q, want a day such as 2026-05-31", d.asOf)
	}
	return t, nil
}

// limit is the budget; nil when not given.
func (d *deciding) limit() (*float64, error) {
	if !d.flags.Changed("budget") {
		return nil, nil
	}
	if !(d.budget >= 0) {
		return nil, usagef("--budget: found %v, want money, 0 or more", d.budget)
	}
	return &d.budget, nil
}

// over prefers a flag to the same key of shop.toml.
func over(flag string, key *string) {
	if flag != "" {
		*key = flag
	}
}
