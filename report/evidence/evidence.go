// Package evidence reads back what analysis wrote: OUT/tables/*.csv and OUT/findings.json.
//
// A table that is not there is empty, for a log may lack what it rests on; a folder without tables is
// ErrNone. It refuses a table it cannot read whole: the error names file, line and column.
package evidence

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"faultgrain/schemas"

	"golang.org/x/sync/errgroup"
)

// ErrNone is returned for a folder that holds no tables.
var ErrNone = errors.New("no tables to draw a report from; run faultgrain analyse first")

// Tables is all a report rests on. Rows stand in the order analysis wrote them.
type Tables struct {
	AsOf     time.Time // last day the findings speak of; zero when findings.json does not say
	Findings []schemas.Finding
	Shares   []schemas.Share
	Pairs    []schemas.Pair
	Times    []schemas.Time
	Trends   []schemas.Trend
	Batches  []schemas.Batch
	LookBack []schemas.PastAlarm // only where analysis was asked to look back
	Returns  []schemas.Return
	Curves   []CurvePoint
	Prices   []schemas.Price
	Stock    []schemas.StockLine
	Backtest []schemas.Backtest
	Quality  []schemas.QualityRow

	Pool        []schemas.Pooled // with other shops; only where pool wrote here
	PoolShops   []schemas.PooledShop
	PoolPairs   []schemas.PooledPair
	PoolBatches []schemas.PooledBatch

	dir string
}

// A CurvePoint is a row of tables/returns_curve.csv: one row per group of returns.csv and day on which
// the share that came back moves.
type CurvePoint struct {
	Component string        `csv:"component"`
	By        string        `csv:"by"`
	Value     string        `csv:"value"`
	Day       schemas.Float `csv:"day"`
	AtRisk    schemas.Float `csv:"at_risk"`
	Back      schemas.Float `csv:"back"`
	Low       schemas.Float `csv:"low"`
	High      schemas.Float `csv:"high"`
}

// ErrMixed is returned for tables that are not those findings.json was written with.
var ErrMixed = errors.New("not the table that findings.json was written with: an analysis was stopped, or the file changed since; run faultgrain analyse again")

// Load reads the tables and findings in out. Findings that tell the sums of their tables are read with these alone; a
// table of another run is ErrMixed.
func Load(ctx context.Context, out string) (*Tables, error) {
	t := &Tables{dir: filepath.Join(out, "tables")}
	if info, err := os.Stat(t.dir); err != nil || !info.IsDir() {
		return nil, fmt.Errorf("%s: %w", t.dir, ErrNone)
	}
	found, err := readFindings(filepath.Join(out, "findings.json"))
	if errors.Is(err, ErrNone) && t.Has("pool") {
		err = nil // a pool alone has no findings
	}
	if err != nil {
		return nil, err
	}
	t.Findings = found.Findings
	if found.AsOf != "" {
		if t.AsOf, err = time.Parse(time.DateOnly, found.AsOf); err != nil {
			return nil, fmt.Errorf("findings.json: as_of: found %q, want a day such as 2026-05-31; run faultgrain analyse again", found.AsOf)
		}
	}
	f, other := folder{t.dir, found.Tables}, folder{dir: t.dir} // no finding rests on how the log was read, or on a pool
	tables := []func() error{
		table(f, "shares", &t.Shares), table(f, "pairs", &t.Pairs), table(f, "times", &t.Times),
		table(f, "trends", &t.Trends), table(f, "batches", &t.Batches), table(f, "lookback", &t.LookBack), table(f, "returns", &t.Returns),
		table(f, "returns_curve", &t.Curves), table(f, "prices", &t.Prices), table(f, "stock", &t.Stock),
		table(f, "backtest", &t.Backtest), table(other, "quality", &t.Quality),
		table(other, "pool", &t.Pool), table(other, "pool_shops", &t.PoolShops), table(other, "pool_pairs", &t.PoolPairs),
		table(other, "pool_batches", &t.PoolBatches),
	}
	var reading errgroup.Group
	reading.SetLimit(runtime.GOMAXPROCS(0))
	errs := make([]error, len(tables))
	for i, read := range tables {
		reading.Go(func() error {
			if errs[i] = ctx.Err(); errs[i] == nil {
				errs[i] = read()
			}
			return nil
		})
	}
	_ = reading.Wait()
	for _, err := range errs { // the first table's error, whichever was read first
		if err != nil {
			return nil, err
		}
	}
	return t, nil
}

// Has tells whether analysis wrote the table, be it empty.
func (t *Tables) Has(name string) bool {
	_, err := os.Stat(filepath.Join(t.dir, name+".csv"))
	return err == nil
}

func readFindings(path string) (schemas.Findings, error) {
	f, err := os.Open(path)
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return schemas.Findings{}, fmt.Errorf("%s: %w", path, ErrNone)
		}
		return schemas.Findings{}, err
	}
	defer f.Close()
	return schemas.ReadFindings(f)
}

// A folder of tables, and the sums that findings.json tells of all it was written with; nil when it tells none.
type folder struct {
	dir  string
	sums map[string]string
}

// table is a task that reads one table into rows.
func table[T any](in folder, table string, rows *[]T) func() error {
	return func() error {
		name := "tables/" + table + ".csv"
		want, told := in.sums[name]
		f, err := os.Open(filepath.Join(in.dir, table+".csv"))
		if errors.Is(err, fs.ErrNotExist) {
			if told {
				return fmt.Errorf("%s is missing: %w", name, ErrMixed)
			}
			return nil
		}
		if err != nil {
			return err
		}
		defer f.Close()
		sum := sha256.New()
		if *rows, err = schemas.ReadCSV[T](io.TeeReader(f, sum), name); err != nil {
			return err
		}
		if in.sums != nil && hex.EncodeToString(sum.Sum(nil)) != want {
			return fmt.Errorf("%s: %w", name, ErrMixed)
		}
		return nil
	}
}
