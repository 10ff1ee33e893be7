package ingest

import "testing"

func TestWhatMayBeShown(t *testing.T) {
	for _, tc := range []struct {
		cell         string
		date, ticket bool
		personal     bool
	}{
		{"31/02/2026", true, true, false},
		{"2026-13-45 25:61", true, false, false},
		{"31.2.26", true, true, false},
		{"Ann Smith", false, false, false},
		{"12 34 56 78", false, false, false}, // how some countries write telephone numbers
		{"555-12-34", false, true, false},
		{"0770-090-0123", false, false, true},
		{"+45 12 34 56", false, false, true},
		{"(030) 123 456 78", false, false, true},
		{"ann@example.org", false, false, true},
		{"T-00123", false, true, false},
		{"2026/0123", false, true, false},
		{"R 1042", false, true, false},
		{"Anna 7 came back", false, false, false},
		{"", false, false, false},
	} {
		if got := dateLike.MatchString(tc.cell); got != tc.date {
			t.Errorf("%q as a date: %v", tc.cell, got)
		}
		if got := shownTicket([]byte(tc.cell)) == tc.cell; got != tc.ticket {
			t.Errorf("%q as a ticket: %v", tc.cell, got)
		}
		if got := looksPersonal([]byte(tc.cell)); got != tc.personal {
			t.Errorf("%q personal: %v", tc.cell, got)
		}
	}
}
