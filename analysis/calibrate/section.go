package main

import (
	"context"
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"runtime"

	"golang.org/x/sync/errgroup"
)

// A Section measures one promise.
type Section struct {
	ID      string // stable, used by --only and in calibration.csv
	Title   string
	Promise string // what must hold, in a sentence; Table.Broken says where it does not
	About   string // how it was measured, and what theory leads one to expect
	Run     func(ctx context.Context, e Effort) (Table, error)
}

// A Table is what a section found. Cells are formatted; columns name their unit.
type Table struct {
	Columns []string
	Rows    [][]string
	Broken  []string // the promises that the measurement contradicts
	Figures []Figure
}

// A Result is a section with what it found.
type Result struct {
	Section
	Table
	Effort
}

// sections lists them in the order of the document.
func sections() []Section {
	return []Section{
		shareSection(), contrastSection(), stratifiedSection(), rateSection(),
		lognormalSection(), survivalSection(), shrinkageSection(),
		trendSection(), trendsTogetherSection(), chartSection(),
		testSection(), discoverySection(), nullTablesSection(), powerTablesSection(), poolingSection(),
		stockSection(),
		falseAlarmSection(), lookBackSection(), powerSection(), linkSection(),
	}
}

// Effort says how much to simulate, and from which seed.
type Effort struct {
	Seed  uint64
	Times float64 // multiplies the usual number of simulations
}

// runs is the usual number of simulations times the effort, and at least 20.
func (e Effort) runs(usual int) int { return max(int(float64(usual)*e.Times), 20) }

// rng is a generator of its own for every use, so that adding one moves no other.
func (e Effort) rng(use ...any) *rand.Rand {
	h := fnv.New64a()
	fmt.Fprint(h, use...)
	return rand.New(rand.NewPCG(e.Seed, h.Sum64()))
}

// each does a number of simulations side by side. Each takes its own generator, so that the order doesn't matter.
func each(ctx context.Context, n int, do func(ctx context.Context, i int) error) error {
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i := range n {
		group.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			return do(ctx, i)
		})
	}
	return group.Wait()
}

// add appends a row; share and number cells come from the helpers below.
func (t *Table) add(cells ...string) { t.Rows = append(t.Rows, cells) }

// expect notes a broken promise.
func (t *Table) expect(held bool, format string, args ...any) {
	if !held {
		t.Broken = append(t.Broken, fmt.Sprintf(format, args...))
	}
}

func share(v float64) string { return fmt.Sprintf("%.4f", v) }

func num(v any) string { return fmt.Sprint(v) }

// A tally counts how often something was so, out of how many.
type tally struct{ hits, of float64 }

func (c *tally) count(hit bool) { c.weigh(hit, 1) }

func (c *tally) weigh(hit bool, weight float64) {
	c.of += weight
	if hit {
		c.hits += weight
	}
}

func (c tally) share() float64 {
	if c.of == 0 {
		return 0
	}
	return c.hits / c.of
}
