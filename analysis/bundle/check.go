package bundle

import (
	"cmp"
	"fmt"
)

// check tells whether the tallies add up.
func (b *Bundle) check() error {
	from, err := ParseMonth(b.Manifest.From)
	if err != nil {
		return err
	}
	to, err := ParseMonth(b.Manifest.To)
	if err != nil {
		return err
	}
	c := checker{period: Span{from, to}, starts: map[spanStart]int{}, ends: map[spanStart]int{}, sums: map[string][]int{}, faults: map[faultSpan]int{}}
	for i, v := range b.Visits {
		if err := c.visits(v, at(b.Visits, i)); err != nil {
			return fmt.Errorf("visits, row %d (%s, %s): %w", i+1, clip(v.Model), v.From, err)
		}
	}
	for i, f := range b.Faults {
		if err := c.fault(f, at(b.Faults, i)); err != nil {
			return fmt.Errorf("faults, row %d (%s, %s, %s): %w", i+1, clip(f.Model), clip(f.Component), f.From, err)
		}
	}
	for i, p := range b.Pairs {
		if err := c.pair(p, at(b.Pairs, i)); err != nil {
			return fmt.Errorf("pairs, row %d (%s, %s and %s, %s): %w", i+1, clip(p.Model), clip(p.A), clip(p.B), p.From, err)
		}
	}
	for i, p := range b.Parts {
		if err := c.parts(p, at(b.Parts, i)); err != nil {
			return fmt.Errorf("parts, row %d (%s, %s): %w", i+1, clip(p.Component), p.From, err)
		}
	}
	return nil
}

// at gives the row before row i; nil for the first.
func at[R any](rows []R, i int) *R {
	if i == 0 {
		return nil
	}
	return &rows[i-1]
}

type spanStart struct {
	model string
	month Month
}

type faultSpan struct {
	faultKey
	month Month // first, or after the last
}

// A checker knows where a model's spans start and end, as indices, and what they and the faults in them add up to.
type checker struct {
	period       Span
	all          int // visits
	starts, ends map[spanStart]int
	sums         map[string][]int  // visits of a model before each of its spans
	faults       map[faultSpan]int // faults told before a row, and after it
}

// follows checks a span, and that rows come in order and spans of one key do not overlap. sequence is negative where the row
// before has a smaller key, 0 for the same key.
func (c *checker) follows(s Span, before *Span, sequence int) error {
	switch {
	case s.From > s.To || s.From < c.period.From || s.To > c.period.To:
		return fmt.Errorf("the span %s to %s is not within %s to %s", s.From, s.To, c.period.From, c.period.To)
	case before == nil || sequence < 0:
		return nil
	case sequence > 0:
		return fmt.Errorf("rows are out of order")
	case before.To >= s.From:
		return fmt.Errorf("the span overlaps the one before")
	}
	return nil
}

// inOrder checks that a row follows the one before it; place gives that one's span and how the two compare.
func inOrder[R any](c *checker, span Span, before *R, place func() (*Span, int)) error {
	if before == nil {
		return c.follows(span, nil, 0)
	}
	last, sequence := place()
	return c.follows(span, last, sequence)
}

func (c *checker) visits(v Visits, before *Visits) error {
	if err := inOrder(c, v.Span, before, func() (*Span, int) { return &before.Span, cmp.Compare(before.Model, v.Model) }); err != nil {
		return err
	}
	if v.Visits < LeastThreshold || v.Model == "" {
		return fmt.Errorf("%d visits, want a model and a count that may be told", v.Visits)
	}
	sums := c.sums[v.Model]
	if sums == nil {
		sums = []int{0}
	}
	if c.all += v.Visits; c.all > maxCount {
		return fmt.Errorf("more than %d visits in all", maxCount)
	}
	c.starts[spanStart{v.Model, v.From}] = len(sums) - 1
	c.ends[spanStart{v.Model, v.To}] = len(sums)
	c.sums[v.Model] = append(sums, sums[len(sums)-1]+v.Visits)
	return nil
}

// covered adds up the visits of the model's spans that make up a span.
func (c *checker) covered(model string, s Span) (int, error) {
	first, ok := c.starts[spanStart{model, s.From}]
	last, ok2 := c.ends[spanStart{model, s.To}]
	if !ok || !ok2 || last <= first {
		return 0, fmt.Errorf("the span is not made of spans of the model's visits")
	}
	return c.sums[model][last] - c.sums[model][first], nil
}

// final is how many visits the model's span that ends with a month has.
func (c *checker) final(model string, to Month) int {
	last := c.ends[spanStart{model, to}]
	return c.sums[model][last] - c.sums[model][last-1]
}

func (c *checker) fault(f Faults, before *Faults) error {
	if err := inOrder(c, f.Span, before, func() (*Span, int) { return &before.Span, before.key().compare(f.key()) }); err != nil {
		return err
	}
	visits, err := c.covered(f.Model, f.Span)
	switch {
	case err != nil:
		return err
	case f.Component == "":
		return fmt.Errorf("no component")
	case f.Visits != visits:
		return fmt.Errorf("%d visits, where the model's add up to %d", f.Visits, visits)
	case f.Told && f.Faults > f.Visits:
		return fmt.Errorf("%d faults on %d visits", f.Faults, f.Visits)
	case f.Told && f.Faults > c.final(f.Model, f.To) && f.Visits > c.final(f.Model, f.To):
		return fmt.Errorf("%d faults, where the last span has %d visits", f.Faults, c.final(f.Model, f.To))
	case f.Told && min(f.Faults, f.Visits-f.Faults) < LeastThreshold:
		return fmt.Errorf("%d faults on %d visits should not have been told", f.Faults, f.Visits)
	}
	if f.Told {
		sum := 0
		if before != nil && before.key().compare(f.key()) == 0 {
			sum = c.faults[faultSpan{f.key(), -1}]
		}
		c.faults[faultSpan{f.key(), f.From}] = sum
		c.faults[faultSpan{f.key(), f.To + 1}] = sum + f.Faults
		c.faults[faultSpan{f.key(), -1}] = sum + f.Faults
	}
	return nil
}

func (c *checker) pair(p Pair, before *Pair) error {
	if err := inOrder(c, p.Span, before, func() (*Span, int) { return &before.Span, before.key().compare(p.key()) }); err != nil {
		return err
	}
	visits, err := c.covered(p.Model, p.Span)
	if err != nil {
		return err
	}
	if n := p.Both + p.AOnly + p.BOnly + p.Neither; n != visits {
		return fmt.Errorf("the cells add up to %d visits, the model's to %d", n, visits)
	}
	if min(p.Both, p.AOnly, p.BOnly, p.Neither) < LeastThreshold {
		return fmt.Errorf("a cell below %d should not have been told", LeastThreshold)
	}
	if p.A >= p.B {
		return fmt.Errorf("components are out of order")
	}
	for _, one := range []struct {
		component string
		faults    int
	}{{p.A, p.Both + p.AOnly}, {p.B, p.Both + p.BOnly}} {
		from, ok := c.faults[faultSpan{faultKey{p.Model, one.component}, p.From}]
		to, ok2 := c.faults[faultSpan{faultKey{p.Model, one.component}, p.To + 1}]
		if !ok || !ok2 || to-from != one.faults {
			return fmt.Errorf("%d visits with %s do not fit the table of faults", one.faults, clip(one.component))
		}
	}
	return nil
}

func (c *checker) parts(p Parts, before *Parts) error {
	if err := inOrder(c, p.Span, before, func() (*Span, int) { return &before.Span, before.key().compare(p.key()) }); err != nil {
		return err
	}
	if p.Lines < LeastThreshold || p.Component == "" {
		return fmt.Errorf("%d lines should not have been told", p.Lines)
	}
	return nil
}
