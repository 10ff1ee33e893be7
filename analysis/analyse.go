// Package analysis turns a history into tables and findings.
//
// In: a history folder and the shop's settings. Out: OUT/tables/NAME.csv and OUT/findings.json, written
// aside and put in place whole. Each question has a folder of its own with its SQL, its method, its
// sentences and its tests; this file only says in which order they are asked.
//
// It refuses to draw, and to write anything when any question fails.
package analysis

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"slices"
	"sync"
	"time"

	"faultgrain/analysis/batches"
	"faultgrain/analysis/findings"
	"faultgrain/analysis/pairs"
	"faultgrain/analysis/prices"
	"faultgrain/analysis/quality"
	"faultgrain/analysis/returns"
	"faultgrain/analysis/shares"
	"faultgrain/analysis/stock"
	"faultgrain/analysis/tally"
	"faultgrain/analysis/times"
	"faultgrain/analysis/trends"
	"faultgrain/schemas"
)

// Options of Run. Only History and Out are needed.
type Options struct {
	History  string           // folder of the history
	Out      string           // folder that tables/ and findings.json go to; made when missing
	Settings schemas.Settings // shop.toml; the zero value is a shop that told nothing
	Stock    string           // stock.csv; "" means the one of Settings, if any
	Fleet    string           // fleet.csv; "" means the one of Settings, if any
	AsOf     time.Time        // last day that counts; zero means the last day in the log
	Seed     uint64           // of everything simulated
	Budget   *float64         // money to spend on parts; nil means no limit
	LookBack bool             // also list past alarms over the whole history

	MemoryLimit int64          // bytes the database may use before it spills; 0 means 1.5 GiB
	Progress    func(Progress) // called as questions are answered, never concurrently; may be nil
	Log         *slog.Logger   // nil discards
}

// Progress says what is being worked on.
type Progress struct {
	Stage       string // "load the history", a table's name, "write"
	Done, Total int    // stages
}

// Summary is what a run found, for people and for --json.
type Summary struct {
	AsOf      string         `json:"as_of"`
	From      string         `json:"from"`
	Visits    int            `json:"visits"`
	Diagnosed int            `json:"diagnosed"`
	Unread    int            `json:"unread"`
	Faults    int            `json:"faults"`
	Parts     int            `json:"parts"`
	Models    int            `json:"models"`
	Tables    map[string]int `json:"tables"`   // rows by table
	Findings  map[string]int `json:"findings"` // by grade
}

// run carries what the questions share.
type run struct {
	opt    Options
	log    *tally.Log
	frame  findings.Frame
	out    *aside
	shelf  *stock.Shelf // nil without stock.csv
	tables tables

	mu      sync.Mutex // guards what follows
	summary Summary
	found   map[string][]schemas.Finding    // by table
	notes   map[string][]schemas.QualityRow // what questions noticed, for the quality table; by table
}

// tables holds the rows that a later question builds on.
type tables struct {
	shares []schemas.Share
	pairs  []schemas.Pair
	prices []schemas.Price
	back   map[string]float64 // by component: share of repairs back within the warranty days
}

// A question fills one table and adds its findings. It is asked once those it comes after are answered, for it uses what
// they found.
type question struct {
	name  string
	ask   func(context.Context, *run) error
	after []string
}

// questions in the order they are told of.
func questions() []question {
	return []question{
		{"shares", askShares, nil},
		{"pairs", askPairs, nil},
		{"times", askTimes, nil},
		{"trends", askTrends, nil},
		{"batches", askBatches, []string{"shares"}},
		{"returns", askReturns, nil},
		{"prices", askPrices, []string{"returns"}},
		{"stock", askStock, []string{"pairs", "batches", "returns", "prices"}},
		{"quality", askQuality, []string{"batches", "returns", "stock"}},
	}
}

// Run reads the history, answers every question and puts tables and findings in place.
// A folder without a history is history.ErrNoHistory, one without visits tally.ErrEmpty.
func Run(ctx context.Context, opt Options) (Summary, error) {
	if opt.Log == nil {
		opt.Log = slog.New(slog.DiscardHandler)
	}
	if opt.Stock == "" {
		opt.Stock = opt.Settings.Stock
	}
	if opt.Fleet == "" {
		opt.Fleet = opt.Settings.Fleet
	}
	asked := questions()
	progress := func(stage string, done int) {
		if opt.Progress != nil {
			opt.Progress(Progress{Stage: stage, Done: done, Total: len(asked) + 2})
		}
	}
	zone, err := opt.Settings.Location()
	if err != nil {
		return Summary{}, err
	}
	lexicon, err := schemas.LoadLexicon(opt.Settings.Components)
	if err != nil {
		return Summary{}, err
	}
	progress("load the history", 0)
	log, err := tally.Open(ctx, opt.History, tally.Options{AsOf: opt.AsOf, Zone: zone, Causes: lexicon.Causes(), MemoryLimit: opt.MemoryLimit})
	if err != nil {
		return Summary{}, err
	}
	defer log.Close()
	out, err := newAside(opt.Out)
	if err != nil {
		return Summary{}, err
	}
	defer out.discard()
	r := &run{opt: opt, log: log, frame: findings.NewFrame(log, lexicon), out: out, summary: newSummary(log),
		found: map[string][]schemas.Finding{}, notes: map[string][]schemas.QualityRow{}}
	if err := r.readShelf(ctx); err != nil {
		return Summary{}, err
	}
	if err := r.askAll(ctx, asked, progress); err != nil {
		return Summary{}, err
	}
	progress("write", len(asked)+1)
	if err := r.writeFindings(); err != nil {
		return Summary{}, err
	}
	if err := out.place(); err != nil {
		return Summary{}, err
	}
	progress("done", len(asked)+2)
	return r.summary, nil
}

func newSummary(log *tally.Log) Summary {
	return Summary{
		AsOf: log.AsOf.Format(time.DateOnly), From: log.From.Format(time.DateOnly),
		Visits: log.Totals.Visits, Diagnosed: log.Totals.Diagnosed, Unread: log.Totals.Unread,
		Faults: log.Totals.Faults, Parts: log.Totals.Parts, Models: log.Totals.Models,
		Tables: map[string]int{}, Findings: map[string]int{},
	}
}

// put writes one table aside and keeps its findings.
func put[T any](r *run, name string, rows []T, found []schemas.Finding) error {
	r.mu.Lock()
	r.summary.Tables[name] = len(rows)
	r.found[name] = found
	r.mu.Unlock()
	return r.out.write("tables/"+name+".csv", func(w io.Writer) error { return schemas.WriteCSV(w, rows) })
}

// foundBy gives the findings of some tables, in their order.
func (r *run) foundBy(tables ...string) []schemas.Finding {
	r.mu.Lock()
	defer r.mu.Unlock()
	var list []schemas.Finding
	for _, t := range tables {
		list = append(list, r.found[t]...)
	}
	return list
}

// note keeps what a question noticed for the quality table.
func (r *run) note(table string, rows ...schemas.QualityRow) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.notes[table] = append(r.notes[table], rows...)
}

func (r *run) writeFindings() error {
	list := r.foundBy(slices.Collect(maps.Keys(r.found))...)
	findings.Rank(list)
	for _, f := range list {
		r.summary.Findings[f.Grade]++
	}
	sums := r.out.written()
	delete(sums, "tables/quality.csv") // it tells how the history came about, on which no finding rests
	all := schemas.Findings{Version: 1, AsOf: r.summary.AsOf, Tables: sums, Findings: list}
	return r.out.write("findings.json", func(w io.Writer) error { return schemas.WriteFindings(w, all) })
}

func askShares(ctx context.Context, r *run) (err error) {
	var fleet *shares.Fleet
	if r.opt.Fleet != "" {
		models, err := tally.Query[string](ctx, r.log, "SELECT model FROM model ORDER BY model")
		if err != nil {
			return err
		}
		if fleet, err = shares.LoadFleet(r.opt.Fleet, models); err != nil {
			return err
		}
	}
	if r.tables.shares, err = shares.Compute(ctx, r.log, fleet); err != nil {
		return err
	}
	return put(r, "shares", r.tables.shares, shares.Findings(r.tables.shares, r.frame))
}

func askPairs(ctx context.Context, r *run) (err error) {
	if r.tables.pairs, err = pairs.Compute(ctx, r.log); err != nil {
		return err
	}
	return put(r, "pairs", r.tables.pairs, pairs.Findings(r.tables.pairs, r.frame))
}

func askTimes(ctx context.Context, r *run) error {
	rows, err := times.Compute(ctx, r.log)
	if err != nil {
		return err
	}
	return put(r, "times", rows, times.Findings(rows, r.frame))
}

func askTrends(ctx context.Context, r *run) error {
	rows, err := trends.Compute(ctx, r.log)
	if err != nil {
		return err
	}
	return put(r, "trends", rows, trends.Findings(rows, r.frame))
}

func askBatches(ctx context.Context, r *run) error {
	rows, err := batches.Compute(ctx, r.log, batches.Options{Seed: r.opt.Seed, Warranty: r.opt.Settings.Warranty(), Shares: r.tables.shares, OnShelf: r.onShelf()})
	if err != nil {
		return err
	}
	if r.opt.LookBack {
		past, looks, err := batches.LookBack(ctx, r.log, r.opt.Seed)
		if err != nil {
			return fmt.Errorf("look back: %w", err)
		}
		if looks > 0 {
			r.note("batches", schemas.QualityRow{Topic: "looked-back", Subject: "batches", Count: looks,
				Note: fmt.Sprintf("looks back, one a week: in as many, chance alone raises about %s such alarms", findings.Number(batches.ByChance(looks)))})
		}
		if err := put(r, "lookback", past, nil); err != nil {
			return err
		}
	}
	return put(r, "batches", rows, batches.Findings(rows, r.frame))
}

func askReturns(ctx context.Context, r *run) error {
	res, err := returns.Compute(ctx, r.log, r.opt.Settings.Warranty())
	if err != nil {
		return err
	}
	r.tables.back = res.Back
	if res.WithoutDevice > 0 {
		r.note("returns", schemas.QualityRow{Topic: "left-out", Subject: "returns", Count: res.WithoutDevice,
			Note: fmt.Sprintf("of %d repairs with a part: no serial, so a return can't be known; write the serial on the ticket", res.Fitted)})
	}
	if err := put(r, "returns_curve", res.Curves, nil); err != nil {
		return err
	}
	return put(r, "returns", res.Rows, returns.Findings(res.Rows, r.frame))
}

func askPrices(ctx context.Context, r *run) (err error) {
	s := r.opt.Settings
	r.tables.prices, err = prices.Compute(ctx, r.log, prices.Options{LabourRate: s.LabourRate, TargetMargin: s.TargetMargin, Back: r.tables.back})
	if err != nil {
		return err
	}
	return put(r, "prices", r.tables.prices, prices.Findings(r.tables.prices, s.TargetMargin, r.frame))
}

func askQuality(ctx context.Context, r *run) error {
	rows, err := quality.Compute(ctx, r.log, r.opt.Settings, quality.Given{Stock: r.opt.Stock != "", Fleet: r.opt.Fleet != ""})
	if err != nil {
		return err
	}
	r.mu.Lock()
	for _, of := range r.notes {
		rows = append(rows, of...)
	}
	r.mu.Unlock()
	quality.Sort(rows)
	return put(r, "quality", rows, nil)
}
