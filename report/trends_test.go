package report

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"faultgrain/report/evidence"
	"faultgrain/schemas"
)

// monthly is a series of n months up to May 2026 with 10 visits each and as many faults as of gives.
func monthly(n int, of func(i int) int) []schemas.Trend {
	var rows []schemas.Trend
	for i := range n {
		month := time.Date(2026, time.May-time.Month(n-1-i), 1, 0, 0, 0, 0, time.UTC).Format("2006-01")
		rows = append(rows, schemas.Trend{Month: month, Class: "phone", Model: schemas.Any, Component: "hinge", Faults: of(i), Visits: 10, Share: schemas.Known(float64(of(i)) / 10), Direction: "steady"})
	}
	return rows
}

// TestHalves: the halves are of the last 12 months that are over; a month the log ends in the middle of is not.
func TestHalves(t *testing.T) {
	rows := monthly(14, func(i int) int { return i % 10 }) // 0 to 9, then 0 to 3
	for _, tc := range []struct {
		day           string
		rows          int
		first, second int // faults
		words         string
	}{
		{"2026-05-31", 14, 2 + 3 + 4 + 5 + 6 + 7, 8 + 9 + 0 + 1 + 2 + 3, "May 2026"},
		{"2026-05-28", 14, 2 + 3 + 4 + 5 + 6 + 7, 8 + 9 + 0 + 1 + 2 + 3, "May 2026"}, // a long weekend is no half month
		{"2026-05-17", 14, 1 + 2 + 3 + 4 + 5 + 6, 7 + 8 + 9 + 0 + 1 + 2, "1 to 17 May 2026"},
		{"2026-05-01", 14, 1 + 2 + 3 + 4 + 5 + 6, 7 + 8 + 9 + 0 + 1 + 2, "1 May 2026"},
		{"2026-05-31", 11, 0, 0, "May 2026"}, // no year yet
	} {
		day, err := time.Parse(time.DateOnly, tc.day)
		if err != nil {
			t.Fatal(err)
		}
		s := &site{Tables: &evidence.Tables{AsOf: day, Trends: rows[14-tc.rows:]}}
		v := s.allSeries()[0]
		year := s.halves(v)
		switch {
		case tc.first == 0 && year != nil:
			t.Errorf("%s, %d months: halves %+v, want none", tc.day, tc.rows, year)
		case tc.first > 0 && (len(year) != 2 || year[0].faults != tc.first || year[1].faults != tc.second || year[1].visits != 60):
			t.Errorf("%s: halves %+v, want %d and %d faults of 60 visits", tc.day, year, tc.first, tc.second)
		}
		if got := s.monthWords("2026-05"); got != tc.words {
			t.Errorf("%s: May is %q, want %q", tc.day, got, tc.words)
		}
		if got := s.monthWords("2026-04"); got != "April 2026" {
			t.Errorf("%s: April is %q", tc.day, got)
		}
	}
}

// TestCourse: a chart of a series says what its finding says, and "may be" unless the table is sure.
func TestCourse(t *testing.T) {
	for _, tc := range []struct {
		direction, want string
		found, up       bool
	}{
		{"steady", "may be falling", true, false}, {"steady", "may be rising", true, true}, {"steady", "steady", false, true}, {"rising", "rising", true, true},
	} {
		v := series{months: []schemas.Trend{{Direction: tc.direction}}, found: tc.found}
		year := []half{{faults: 5, visits: 10}, {faults: 2, visits: 10}}
		if tc.up {
			year[0], year[1] = year[1], year[0]
		}
		if got := v.course(year); got != tc.want {
			t.Errorf("%+v: %q", tc, got)
		}
	}
}

// TestMonthSizes: each sentence with a ratio is a row under its own number, a fall among them, and the title names the largest.
func TestMonthSizes(t *testing.T) {
	k := schemas.Known
	s := &site{Tables: &evidence.Tables{Trends: monthly(12, func(i int) int { return 5 - i/6*3 })}}
	s.Findings = []schemas.Finding{
		{ID: "a", Kind: schemas.KindShare, Grade: schemas.Firm, Headline: "Lark P3: hinge, firm.", Numbers: map[string]schemas.Float{"ratio": k(4), "ratio_low": k(3), "ratio_high": k(6)}},
		{ID: "b", Kind: schemas.KindStock, Grade: schemas.Firm, Headline: "Order 3"},
		{ID: "c", Kind: schemas.KindTrend, Grade: schemas.Leaning, Headline: "Hinge on phones is falling: so", Numbers: map[string]schemas.Float{"fold": k(4), "fold_low": k(2)},
			Row: schemas.RowRef{Table: "trends", Key: map[string]string{"class": "phone", "model": schemas.Any, "component": "hinge", "month": "2026-05"}}},
	}
	s.series = s.allSeries
	var list []told
	for _, f := range s.Findings {
		list = append(list, told{Finding: f, Line: evidence.HeadlineOf(f, "")})
	}
	fig, err := s.sizes(list)
	if err != nil || fig == nil {
		t.Fatalf("%v, %v", fig, err)
	}
	var rows []string
	for _, r := range fig.Table.Rows {
		rows = append(rows, fmt.Sprintf("%s %s %s %s", r[0].Text, r[1].Text, r[2].Text, r[2].Note))
	}
	want := []string{"1 Lark P3 4 3 to 6", "3 Hinge on phones is falling 0.25 0.12 to 0.50"} // 1/4, and 1/8 to 1/2: the same fold either way
	if strings.Join(rows, "; ") != strings.Join(want, "; ") {
		t.Errorf("rows %q, want %q", rows, want)
	}
	if fig.Chart.Title != "Sentence 1 is the largest: at least 3 times." {
		t.Errorf("the chart is called %q", fig.Chart.Title)
	}
	if fig, err := s.sizes(list[:1]); fig != nil || err != nil {
		t.Errorf("one row is drawn alone: %v, %v", fig, err)
	}
}
