package findings

import (
	"cmp"
	"slices"

	"faultgrain/schemas"
)

// Rank sorts in place, strongest first: by grade, then strength, then kind, then id. The order is total. Two things
// come before strength: an alarm about batteries stands first of all, for it can hurt someone, and within a grade what
// was learnt stands before what to order, which is as sure as it is routine.
func Rank(list []schemas.Finding) {
	slices.SortFunc(list, func(a, b schemas.Finding) int {
		return cmp.Or(
			cmp.Compare(urgency(a), urgency(b)),
			cmp.Compare(place(grades, a.Grade), place(grades, b.Grade)),
			cmp.Compare(routine(a), routine(b)),
			cmp.Compare(b.Numbers[StrengthKey].V, a.Numbers[StrengthKey].V),
			cmp.Compare(place(kinds, a.Kind), place(kinds, b.Kind)),
			cmp.Compare(a.ID, b.ID),
		)
	})
}

// Shorten ranks one question's findings and keeps every firm one, then the first leaning and thin ones.
// Findings without a grade are dropped. The input is sorted in place.
func Shorten(list []schemas.Finding, leaning, thin int) []schemas.Finding {
	Rank(list)
	left := map[string]int{schemas.Firm: len(list), schemas.Leaning: leaning, schemas.Thin: thin}
	var out []schemas.Finding
	for _, f := range list {
		if left[f.Grade] > 0 {
			left[f.Grade]--
			out = append(out, f)
		}
	}
	return out
}

// Read-only orders.
var (
	grades = []string{schemas.Firm, schemas.Leaning, schemas.Thin}
	kinds  = []string{schemas.KindBatch, schemas.KindReturn, schemas.KindShare, schemas.KindTrend, schemas.KindPair,
		schemas.KindPrice, schemas.KindStock, schemas.KindTime}
)

func place(list []string, word string) int {
	if i := slices.Index(list, word); i >= 0 {
		return i
	}
	return len(list)
}

func urgency(f schemas.Finding) int {
	if f.Kind == schemas.KindBatch && f.Subject.Component == lithium {
		return 0
	}
	return 1
}

func routine(f schemas.Finding) int {
	if f.Kind == schemas.KindStock {
		return 1
	}
	return 0
}
