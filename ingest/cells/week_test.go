package cells

import (
	"testing"
	"time"
)

func TestWeek(t *testing.T) {
	for cell, want := range map[string]string{
		"2026-W07": "2026-W07", "2026W7": "2026-W07", "2026-W7": "2026-W07", "W07/2026": "2026-W07", "KW 7 2026": "2026-W07", "KW7/2026": "2026-W07",
		"week 7 of 2026": "2026-W07", "uge 7, 2026": "2026-W07", "sem. 7 2026": "2026-W07", "2026 week 7": "2026-W07", "2026-W07-3": "2026-W07",
		"2026-W53": "2026-W53", "2025-W53": "", "2026-W00": "", "26W07": "2026-W07", "KW 7/26": "2026-W07", "W7-26": "2026-W07", "KW7": "", "2607": "", "2026": "", "07/2026": "", "": "", "W7": "",
		"2026-02-14": "2026-W07", "2021-01-01": "2020-W53", "2024-12-30": "2025-W01",
	} {
		got := ""
		if y, w, ok := Week([]byte(cell)); ok {
			got = string(AppendWeek(nil, y, w))
		}
		if got != want {
			t.Errorf("Week(%q) = %q, want %q", cell, got, want)
		}
	}
}

// Go's ISOWeek is the reference.
func TestWeekOfDateIsISO(t *testing.T) {
	for at := time.Date(1971, 1, 1, 0, 0, 0, 0, time.UTC); at.Year() < 2099; at = at.AddDate(0, 0, 1) {
		y, w, ok := Week([]byte(at.Format("2006-01-02")))
		wy, ww := at.ISOWeek()
		if !ok || y != wy || w != ww {
			t.Fatalf("%v: got %d-W%02d, want %d-W%02d", at, y, w, wy, ww)
		}
		if ww > weeksIn(wy) {
			t.Fatalf("%d has week %d, weeksIn says %d", wy, ww, weeksIn(wy))
		}
	}
}
