package bundle

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"

	"faultgrain/analysis/tally"
	"faultgrain/ingest/history"
	"faultgrain/schemas"
)

// Options of Make.
type Options struct {
	Threshold int            // least count that is told; 0 means LeastThreshold, and less is refused
	Name      string         // the shop's name, where it wants to be known
	Mark      string         // history.ShopMark, hex
	Notes     []schemas.Note // of them, those that say so are shared
	Before    *Frozen        // the bundle shared before; nil where there was none
}

// ErrNothing: no count is large enough, or no month is over.
var ErrNothing = errors.New("nothing to share yet")

// A Made is a bundle with what was withheld, exactly; the latter stays in the shop.
type Made struct {
	*Bundle
	Withheld []Withheld
}

// A Withheld says how much of a kind of tally is not told.
type Withheld struct {
	What      string // models, faults of models, pairs, parts
	Keys      int    // that were seen
	Silent    int    // of them, not told at all
	Cases     int    // visits, faults, visits with both, or part lines
	CasesTold int
}

// Mark is the shop's mark as it stands in a manifest.
func Mark(dir string) (string, error) {
	k, err := history.ShopMark(dir)
	if err != nil {
		return "", err
	}
	return hex.EncodeToString(k[:]), nil
}

// Make tallies the months that are over and withholds what is small. It is ErrNothing where no tally can be told.
func Make(ctx context.Context, log *tally.Log, opt Options) (*Made, error) {
	switch {
	case opt.Threshold == 0:
		opt.Threshold = LeastThreshold
	case opt.Threshold < LeastThreshold:
		return nil, fmt.Errorf("threshold %d: want %d or more; it can only be raised", opt.Threshold, LeastThreshold)
	}
	if opt.Before != nil && opt.Before.Manifest.Shop != opt.Mark {
		return nil, errors.New("the bundle shared before is of another history")
	}
	c, err := count(ctx, log)
	if err != nil {
		return nil, err
	}
	if c.last < c.first && opt.Before == nil {
		return nil, fmt.Errorf("%w: no month of the log is over", ErrNothing)
	}
	return c.make(opt)
}

func (c *counts) make(opt Options) (*Made, error) {
	b := c.tell(opt.Threshold, opt.Before)
	if len(b.Visits)+len(b.Parts) == 0 {
		return nil, fmt.Errorf("%w: no model has %d diagnosed visits in months that are over", ErrNothing, visitsPerSpan*opt.Threshold)
	}
	from, to := c.first, c.last
	for _, v := range b.Visits {
		from, to = min(from, v.From), max(to, v.To)
	}
	for _, p := range b.Parts {
		from, to = min(from, p.From), max(to, p.To)
	}
	if opt.Before != nil { // what it says must not grow shorter
		before, err := ParseMonth(opt.Before.Manifest.To)
		if err != nil {
			return nil, err
		}
		to = max(to, before)
	}
	m := &Made{Bundle: b, Withheld: c.withheld(b)}
	b.Manifest = Manifest{Format: format, Version: version, Shop: opt.Mark, Name: opt.Name, From: from.String(), To: to.String(),
		Threshold: opt.Threshold, Methods: methods, Withheld: map[string]string{}}
	for _, w := range m.Withheld {
		b.Manifest.Withheld[w.What] = inBands(w.Silent)
	}
	for _, n := range opt.Notes {
		if n.Share {
			b.Manifest.Notes = append(b.Manifest.Notes, Note{n.Model, n.Family, n.Component, strings.Join(strings.Fields(n.Text), " ")})
		}
	}
	return m, nil
}

// inBands says how many without saying it.
func inBands(n int) string {
	switch {
	case n < 10:
		return "fewer than 10"
	case n < 100:
		return "10 to 99"
	case n < 1000:
		return "100 to 999"
	}
	return "1,000 or more"
}

func (c *counts) withheld(b *Bundle) []Withheld {
	visits := map[string]int{}
	for _, v := range b.Visits {
		visits[v.Model] += v.Visits
	}
	faults := map[faultKey]int{}
	for _, f := range b.Faults {
		if f.Told {
			faults[f.key()] += f.Faults
		}
	}
	both := map[pairKey]int{}
	for _, p := range b.Pairs {
		both[p.key()] += p.Both
	}
	parts := map[partKey]int{}
	for _, p := range b.Parts {
		parts[p.key()] += p.Lines
	}
	return []Withheld{withheld("models", c.visits, visits), withheld("components of models", c.faults, faults),
		withheld("pairs", c.both, both), withheld("part grades and costs", c.parts, parts)}
}

func withheld[K comparable](what string, counted map[K][]int, told map[K]int) Withheld {
	w := Withheld{What: what, Keys: len(counted)}
	for k, list := range counted {
		if told[k] == 0 {
			w.Silent++
		}
		for _, n := range list {
			w.Cases += n
		}
	}
	for _, n := range told {
		w.CasesTold += n
	}
	return w
}
