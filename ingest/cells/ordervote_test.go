package cells

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestOrderIsSettledFromTheColumn(t *testing.T) {
	tests := []struct {
		name  string
		cells string // parted by |
		want  Dates
		fails string // part of the error
	}{
		{name: "iso needs none", cells: "2026-05-03|2026-05-04 10:00|n/a|", want: Dates{}},
		{name: "a day above twelve", cells: "03/04/2026|15/04/2026", want: Dates{Order: DayFirst}},
		{name: "a day above twelve behind", cells: "03/04/2026|04/15/2026", want: Dates{Order: MonthFirst}},
		{name: "nothing tells", cells: "03/04/2026|05/06/2026", fails: `"03/04/2026" is 3 April 2026 (day-first) or 4 March 2026 (month-first)`},
		{name: "same either way", cells: "03/03/2026|04/04/2026", want: Dates{}},
		{name: "both orders", cells: "15/04/2026|04/15/2026|16/04/2026", fails: "mix two orders"},
		{name: "names need none", cells: "3 May 2026|4. Mai 2026", want: Dates{}},
		{name: "two-digit years", cells: "15/04/26|16/04/26", want: Dates{Order: DayFirst}},
		{name: "two-digit years month first", cells: "04/15/26|04/16/26", want: Dates{Order: MonthFirst}},
		{name: "year first", cells: "26-04-03|26-04-15|26-04-30|26-05-01|26-05-02|26-05-04|26-05-05", want: Dates{Order: YearFirst}},
		{name: "year first, beyond days", cells: "99-04-03|99-05-15", want: Dates{Order: YearFirst}},
		{name: "few two-digit years", cells: "12-04-24|12-05-25", fails: "year-first"},
		{name: "serials", cells: "45780|45781.5|45790", want: Dates{Count: ExcelDays}},
		{name: "one stray number", cells: strings.Repeat("2026-05-03|", 40) + "45780", want: Dates{}},
		{name: "a sheet that turned half into dates", cells: "45780|45781|15/04/2026", want: Dates{Order: DayFirst, Count: ExcelDays}},
		{name: "unix", cells: "1777802400|1777802500", want: Dates{Count: UnixSeconds}},
		{name: "digits only", cells: "15042026|03042026", want: Dates{Order: DayFirst}},
	}
	for _, tt := range tests {
		var v OrderVote
		for i, c := range strings.Split(tt.cells, "|") {
			v.Add([]byte(c), int64(i+2))
		}
		got, err := v.Settle()
		switch {
		case tt.fails == "" && err != nil:
			t.Errorf("%s: %v", tt.name, err)
		case tt.fails == "" && got != tt.want:
			t.Errorf("%s: got %+v, want %+v", tt.name, got, tt.want)
		case tt.fails != "":
			var amb *AmbiguousDates
			if !errors.As(err, &amb) || !strings.Contains(err.Error(), tt.fails) || !strings.Contains(err.Error(), "--dates day-first") {
				t.Errorf("%s: got %v, %v, want an error with %q", tt.name, got, err, tt.fails)
			}
		}
	}
}

func TestAmbiguousDatesSayWhere(t *testing.T) {
	var v OrderVote
	v.Add([]byte("05/06/2026"), 9)
	v.Add([]byte("03/04/2026"), 7)
	_, err := v.Settle()
	var amb *AmbiguousDates
	if !errors.As(err, &amb) {
		t.Fatalf("got %v", err)
	}
	amb.File, amb.Column = "log.csv", "Datum"
	want := `log.csv:7: column "Datum": "03/04/2026" is 3 April 2026 (day-first) or 4 March 2026 (month-first), ` +
		`and no date in the column tells; say which with --dates day-first or --dates month-first, or with the key dates in columns.toml`
	if amb.Error() != want {
		t.Errorf("got  %s\nwant %s", amb.Error(), want)
	}
}

// However a column is shared out over workers, the vote is the same.
func TestOrderVoteMerges(t *testing.T) {
	cell := rapid.SampledFrom([]string{"2026-05-03", "03/04/2026", "15/04/2026", "04/15/2026", "15/04/26", "26-05-03", "45780", "x", "", "3 May 2026"})
	rapid.Check(t, func(t *rapid.T) {
		column := rapid.SliceOfN(cell, 1, 60).Draw(t, "column")
		var whole OrderVote
		parts := make([]OrderVote, 3)
		for i, c := range column {
			whole.Add([]byte(c), int64(i+2))
			parts[rapid.IntRange(0, 2).Draw(t, "worker")].Add([]byte(c), int64(i+2))
		}
		var merged OrderVote
		for _, i := range rapid.Permutation([]int{0, 1, 2}).Draw(t, "order") {
			merged.Merge(&parts[i])
		}
		if merged != whole {
			t.Fatalf("merged %+v, want %+v", merged, whole)
		}
	})
}

// Whatever Settle settles reads at least as many dates as any other order would.
func TestSettledOrderReadsMost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		column := rapid.SliceOfN(rapid.StringMatching(`[0-3][0-9]/[01][0-9]/20(19|2[0-6])`), 1, 40).Draw(t, "column")
		var v OrderVote
		for i, c := range column {
			v.Add([]byte(c), int64(i+2))
		}
		settled, err := v.Settle()
		if err != nil {
			return
		}
		reads := func(d Dates) (n int) {
			for _, c := range column {
				if _, ok := d.Parse([]byte(c)); ok {
					n++
				}
			}
			return n
		}
		for _, o := range []Order{DayFirst, MonthFirst} {
			if got, other := reads(settled), reads(Dates{Order: o}); got < other {
				t.Fatalf("%v reads %d dates, %v would read %d", settled.Order, got, o, other)
			}
		}
	})
}
