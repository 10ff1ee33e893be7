// Package bundle makes what a shop can hand on: tallies without tickets, from which no small count can be worked out.
//
// In: a tally.Log and the bundle shared before, if any. Out: a zip file of Parquet tallies, a manifest and a page to
// read; and single findings as a page. Read takes such a file from a stranger and refuses what does not add up.
//
// How nothing small leaks. A bundle has no totals. Every tally counts a set of visits of its own over a span of whole
// months that are over, and is published only when it and what it leaves of its visits reach the threshold T (5 or
// more):
//
//   - A model's months are put together, oldest first, until they hold 4T diagnosed visits; that closes a span.
//   - A component's spans are made of its model's, oldest first, until they hold T visits that show it. The tally is then
//     published if T visits or more do not show it and if, where several spans were put together, the last of them
//     could have held all of it and T-1 visits more; else the span is marked as withheld.
//   - Pairs are made the same way of spans that both components share; all four cells must reach T.
//     The pairs of a model that are told form no circle, see forest.
//
// Spans close by what was seen up to their last month, so that a later bundle holds every tally of an earlier one
// unchanged and adds later months: there is nothing to subtract. What was shared once stays as it was (Frozen), even
// when tickets were corrected since. Whoever knows all bundles and these rules still finds T or more values possible for
// every count that is not told: within a span, all faults may lie in its last part, or any number below T in any other
// part and the rest in the last; after the last span, none or any number below T. attack_test.go tries.
//
// It refuses tickets, devices, technicians, customers, charges, suppliers and lots, and the shop's name unless given.
package bundle

import (
	"fmt"
	"time"

	"faultgrain/schemas"
)

// LeastThreshold is the smallest count that may be told.
const LeastThreshold = 5

// A Month counts months since year 0.
type Month int

// MonthOf is the month a day lies in.
func MonthOf(t time.Time) Month { return Month(t.Year()*12 + int(t.Month()) - 1) }

// ParseMonth reads 2026-05.
func ParseMonth(s string) (Month, error) {
	t, err := time.Parse("2006-01", s)
	if err != nil || t.Year() < 1900 || t.Year() > 2999 {
		return 0, fmt.Errorf("found month %q, want one such as 2026-05", s)
	}
	return MonthOf(t), nil
}

// First is the month's first day, in UTC.
func (m Month) First() time.Time {
	return time.Date(int(m)/12, time.Month(int(m)%12+1), 1, 0, 0, 0, 0, time.UTC)
}

func (m Month) String() string { return fmt.Sprintf("%04d-%02d", int(m)/12, int(m)%12+1) }

// A Span is whole months, both included.
type Span struct{ From, To Month }

// Visits are the diagnosed visits of a model in a span.
type Visits struct {
	Model, Class, Maker, Family string
	Span
	Visits int
}

// Faults are the visits of a span that show a component. Told is false where the count is withheld though not small.
type Faults struct {
	Model, Component string
	Cause            bool
	Span
	Visits, Faults int
	Told           bool
}

// A Pair is the table of two components in a span, A < B.
type Pair struct {
	Model, A, B string
	Span
	Both, AOnly, BOnly, Neither int
}

// Parts are the part lines of a component by grade and band of cost. From is in the band, Below is not; both are unknown where
// the cost is.
type Parts struct {
	Component, Grade, Currency string
	CostFrom, CostBelow        schemas.Float
	Span
	Lines int
}

// A Bundle is everything that leaves the shop.
type Bundle struct {
	Manifest Manifest
	Visits   []Visits // ordered by model and month
	Faults   []Faults // ordered by model, component and month
	Pairs    []Pair   // ordered by model, components and month
	Parts    []Parts  // ordered by component, grade, currency, band and month
}

// A Manifest heads a bundle.
type Manifest struct {
	Format    string            `json:"format"`
	Version   int               `json:"version"`
	Shop      string            `json:"shop"` // a keyed hash that tells bundles of one shop from those of another
	Name      string            `json:"name,omitempty"`
	From      string            `json:"from"` // first month
	To        string            `json:"to"`   // last month, over when the bundle was made
	Threshold int               `json:"threshold"`
	Methods   []string          `json:"methods"`
	Withheld  map[string]string `json:"withheld"` // how much is not told, in words that are no totals
	Notes     []Note            `json:"notes,omitempty"`
}

// A Note is a remark the shop chose to share, as in schemas.Note.
type Note struct {
	Model     string `json:"model,omitempty"`
	Family    string `json:"family,omitempty"`
	Component string `json:"component,omitempty"`
	Text      string `json:"text"`
}

const format = "faultgrain-bundle"

var methods = []string{
	"Counts are diagnosed visits over spans of whole months; a span closes when it holds enough.",
	"A count below the threshold, or one that leaves less than the threshold, is not told; nor is any total that holds it.",
	"A component that a model's rows do not cover showed on fewer visits than the threshold in the months after its last row.",
}
