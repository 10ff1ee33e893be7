package findings

import (
	"cmp"
	"slices"

	"faultgrain/schemas"
)

// Rank sorts in place, strongest first: by grade, then strength, then kind, then id. The order is total.
func Rank(list []schemas.Finding) {
	slices.SortFunc(list, func(a, b schemas.Finding) int {
		return cmp.Or(
			cmp.Compare(place(grades, a.Grade), place(grades, b.Grade)),
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
