package batches

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"faultgrain/analysis/stat"
)

// Attributes a link can have. Those of the part fitted before are told apart by the prefix.
const (
	earlier = "earlier_"

	Lot             = "lot"
	Supplier        = "supplier"
	Grade           = "grade"
	EarlierLot      = earlier + Lot
	EarlierSupplier = earlier + Supplier
	EarlierGrade    = earlier + Grade
	MadeWeek        = "made_week"
	SerialPrefix    = "serial_prefix"
)

// attributes in the order of how narrowly they name what to look at: a lot says more than its supplier or its grade, and
// what was fitted before more than what is being fitted now, which changes with time whatever fails. Read only.
var attributes = []string{EarlierLot, MadeWeek, SerialPrefix, EarlierSupplier, EarlierGrade, Lot, Supplier, Grade}

// telling is the place of an attribute in that order.
func telling(attribute string) int {
	if i := slices.Index(attributes, attribute); i >= 0 {
		return i
	}
	return len(attributes)
}

// minExposed is the least number of visits with a value that are worth a test.
const minExposed = 3

// A Contrast asks of one attribute which of its values goes with the cases. Population: what has a known value.
//
//   - made_week, serial_prefix: diagnosed visits; cases show the component. In an alarm the cases are those of its
//     window, the others the visits of the last 26 weeks without the component: most visits of the window may be cases
//   - earlier_lot, earlier_supplier, earlier_grade: parts of the component fitted to known devices in the last 65
//     weeks; cases are devices that came back for the component, in an alarm within its window. Parts that were
//     replaced before the window are left out
//   - lot, supplier, grade of the part on the visit: in an alarm, visits of the last 65 weeks with such a part; all
//     of them show the component, so the cases are those in the window. What is fitted changes with time whatever
//     fails, so that such a link is the weakest
type Contrast struct {
	Attribute string
	Values    []string // in total order
	Strata    []Stratum
}

// A Stratum is a model. Cases and Others are per value of the contrast.
type Stratum struct{ Cases, Others []int }

// A Link is one tested value, or one run of made-weeks.
type Link struct {
	Attribute, Value string
	Cases, Visits    int // with the value
	Odds             stat.Ratio
	P, Q             float64 // two-sided; of made-weeks that of the maximum over all runs
}

// Test asks of every value of every contrast whether the cases carry it more often, or less often, than the others of
// the same model; made-weeks are scanned in runs of 1 to 8. Q is Benjamini-Hochberg over everything tested.
//
// Odds ratio and limits: Mantel-Haenszel; p: the exact conditional test where cases are few, else Cochran, Mantel and
// Haenszel; see package stat.
func Test(ctx context.Context, contrasts []Contrast, seed uint64) ([]Link, error) {
	links, err := test(ctx, contrasts, seed)
	if err != nil {
		return nil, err
	}
	return links, correct(links)
}

func test(ctx context.Context, contrasts []Contrast, seed uint64) ([]Link, error) {
	var links []Link
	for _, c := range contrasts {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if c.Attribute == MadeWeek {
			l, ok, err := scanMade(c, seed)
			if err != nil {
				return nil, err
			}
			if ok {
				links = append(links, l)
			}
			continue
		}
		for v := range c.Values {
			l, ok, err := c.test(func(i int) bool { return i == v })
			if err != nil {
				return nil, err
			}
			if ok {
				l.Value = c.Values[v]
				links = append(links, l)
			}
		}
	}
	return links, nil
}

// correct fills in Q.
func correct(links []Link) error {
	if len(links) == 0 {
		return nil
	}
	p := make([]float64, len(links))
	for i, l := range links {
		p[i] = l.P
	}
	q, err := stat.BenjaminiHochberg(p)
	if err != nil {
		return err
	}
	for i := range links {
		links[i].Q = q[i]
	}
	return nil
}

// test compares the values in against the rest. ok is false where nothing can be compared.
func (c *Contrast) test(in func(value int) bool) (l Link, ok bool, err error) {
	l.Attribute = c.Attribute
	strata := make([]stat.Table2, len(c.Strata))
	for i, s := range c.Strata {
		t := &strata[i]
		for v := range c.Values {
			if in(v) {
				t.A += s.Cases[v]
				t.B += s.Others[v]
			} else {
				t.C += s.Cases[v]
				t.D += s.Others[v]
			}
		}
		l.Cases += t.A
		l.Visits += t.A + t.B
	}
	if l.Visits < minExposed {
		return l, false, nil
	}
	l.Odds, err = stat.MantelHaenszelOdds(strata, 0.95)
	if errors.Is(err, stat.ErrNoInformation) || errors.Is(err, stat.ErrNoData) {
		return l, false, nil
	}
	if err != nil {
		return l, false, err
	}
	exact, err := stat.FisherStratified(strata)
	if err == nil {
		l.P = exact.MidP
		return l, true, nil
	}
	if !errors.Is(err, stat.ErrTooLarge) {
		return l, false, err
	}
	large, err := stat.CMH(strata, true)
	l.P = large.P
	return l, err == nil, err
}

// passing tells whether an attribute is of what is being fitted now: that changes with time whatever fails, so that the
// lot of the day goes with every alarm.
func passing(attribute string) bool {
	return attribute == Lot || attribute == Supplier || attribute == Grade
}

// linked keeps the links that go with more cases, not fewer, and hold after correction; the surest first. Passing ones
// are leads only where there is no other.
func linked(links []Link) []Link {
	var kept []Link
	for _, l := range links {
		if l.Q < 0.05 && l.Odds.Lo > 1 && l.Cases >= minCases {
			kept = append(kept, l)
		}
	}
	if slices.ContainsFunc(kept, func(l Link) bool { return !passing(l.Attribute) }) {
		kept = slices.DeleteFunc(kept, func(l Link) bool { return passing(l.Attribute) })
	}
	slices.SortFunc(kept, func(a, b Link) int {
		return cmp.Or(cmp.Compare(a.Q, b.Q), cmp.Compare(b.Odds.Lo, a.Odds.Lo), cmp.Compare(telling(a.Attribute), telling(b.Attribute)), cmp.Compare(a.Value, b.Value))
	})
	return kept
}
