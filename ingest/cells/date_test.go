package cells

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

// Expected instants follow from the standards named: ISO 8601 calendar dates, RFC 5322 date-time,
// and month names as dictionaries give them.
func TestDateReadsWhatPeopleWrite(t *testing.T) {
	tests := []struct {
		cell  string
		dates Dates
		want  string // UTC, empty when refused
	}{
		{cell: "2026-05-03", want: "2026-05-03 00:00:00"},
		{cell: " 2026-05-03 ", want: "2026-05-03 00:00:00"},
		{cell: "2026-05-03T10:11:12Z", want: "2026-05-03 10:11:12"},
		{cell: "2026-05-03 10:11", want: "2026-05-03 10:11:00"},
		{cell: "2026-05-03T10:11:12.250+02:00", want: "2026-05-03 08:11:12"},
		{cell: "2026-05-03T10:11:12-0530", want: "2026-05-03 15:41:12"},
		{cell: "2026-05-03T10:11:12 UTC", want: "2026-05-03 10:11:12"},
		{cell: "2026-05-03 24:00", want: "2026-05-04 00:00:00"},
		{cell: "2026-5-3", want: "2026-05-03 00:00:00"},
		{cell: "2026/05/03 7:05", want: "2026-05-03 07:05:00"},
		{cell: "2026.05.03", want: "2026-05-03 00:00:00"},
		{cell: "20260503", want: "2026-05-03 00:00:00"},
		{cell: "20260503T101112Z", want: "2026-05-03 10:11:12"},
		{cell: "20260503101112", want: "2026-05-03 10:11:12"},
		{cell: "202605031011", want: "2026-05-03 10:11:00"},
		{cell: "03/04/2026", dates: Dates{Order: DayFirst}, want: "2026-04-03 00:00:00"},
		{cell: "03/04/2026", dates: Dates{Order: MonthFirst}, want: "2026-03-04 00:00:00"},
		{cell: "03/04/2026"},
		{cell: "03/03/2026", want: "2026-03-03 00:00:00"},
		{cell: "3.4.26", dates: Dates{Order: DayFirst}, want: "2026-04-03 00:00:00"},
		{cell: "3. 4. 2026", dates: Dates{Order: DayFirst}, want: "2026-04-03 00:00:00"},
		{cell: "03.04.2026.", dates: Dates{Order: DayFirst}, want: "2026-04-03 00:00:00"},
		{cell: "3-4-99", dates: Dates{Order: DayFirst}, want: "1999-04-03 00:00:00"},
		{cell: "26-05-03", dates: Dates{Order: YearFirst}, want: "2026-05-03 00:00:00"},
		{cell: "03042026", dates: Dates{Order: DayFirst}, want: "2026-04-03 00:00:00"},
		{cell: "15/04/2026", dates: Dates{Order: MonthFirst}},
		{cell: "4/15/2026 3:20 PM", dates: Dates{Order: MonthFirst}, want: "2026-04-15 15:20:00"},
		{cell: "4/15/2026 12:05 a.m.", dates: Dates{Order: MonthFirst}, want: "2026-04-15 00:05:00"},
		{cell: "15/04/2026 12:05 p. m.", dates: Dates{Order: DayFirst}, want: "2026-04-15 12:05:00"},
		{cell: "4/15/2026, 3:20:01 PM", dates: Dates{Order: MonthFirst}, want: "2026-04-15 15:20:01"},
		{cell: "15.04.2026 10.15 Uhr", dates: Dates{Order: DayFirst}, want: "2026-04-15 10:15:00"},
		{cell: "15.04.2026 um 9 Uhr", dates: Dates{Order: DayFirst}, want: "2026-04-15 09:00:00"},
		{cell: "15-04-2026 kl. 9.05", dates: Dates{Order: DayFirst}, want: "2026-04-15 09:05:00"},
		{cell: "15/04/2026 à 10h15", dates: Dates{Order: DayFirst}, want: "2026-04-15 10:15:00"},
		{cell: "15/04/2026 - 10:15", dates: Dates{Order: DayFirst}, want: "2026-04-15 10:15:00"},
		{cell: "3 May 2026", want: "2026-05-03 00:00:00"},
		{cell: "May 3rd, 2026", want: "2026-05-03 00:00:00"},
		{cell: "May 3, 2026, 3:20 PM", want: "2026-05-03 15:20:00"},
		{cell: "3-May-26", want: "2026-05-03 00:00:00"},
		{cell: "03-MAY-2026 10:15:00", want: "2026-05-03 10:15:00"},
		{cell: "3. Mai 2026", want: "2026-05-03 00:00:00"},
		{cell: "Sonntag, 3. Mai 2026", want: "2026-05-03 00:00:00"},
		{cell: "7. März 2026", want: "2026-03-07 00:00:00"},
		{cell: "7. Mrz. 2026", want: "2026-03-07 00:00:00"},
		{cell: "1er août 2026", want: "2026-08-01 00:00:00"},
		{cell: "dim. 3 mai 2026 à 10h15", want: "2026-05-03 10:15:00"},
		{cell: "14 févr. 2026", want: "2026-02-14 00:00:00"},
		{cell: "3 mei 2026", want: "2026-05-03 00:00:00"},
		{cell: "7 mrt 2026", want: "2026-03-07 00:00:00"},
		{cell: "3 de mayo de 2026", want: "2026-05-03 00:00:00"},
		{cell: "3-ene-2026", want: "2026-01-03 00:00:00"},
		{cell: "den 3. maj 2026 kl. 10.15", want: "2026-05-03 10:15:00"},
		{cell: "lørdag d. 3. maj 2026"},
		{cell: "2026 May 3", want: "2026-05-03 00:00:00"},
		{cell: "Sun, 03 May 2026 10:11:12 +0200", want: "2026-05-03 08:11:12"},
		{cell: "Sun May  3 10:11:12 2026", want: "2026-05-03 10:11:12"},
		{cell: "Sun May 03 2026 10:11:12 GMT+0200 (Summer Time)", want: "2026-05-03 08:11:12"},
		// 45780 days after 1899-12-30: the serial OpenDocument part 4, section 4.11.7 counts with its usual epoch.
		{cell: "45780", dates: Dates{Count: ExcelDays}, want: "2025-05-03 00:00:00"},
		{cell: "45780.5", dates: Dates{Count: ExcelDays}, want: "2025-05-03 12:00:00"},
		{cell: "45780,25", dates: Dates{Count: ExcelDays}, want: "2025-05-03 06:00:00"},
		{cell: "45780"},
		{cell: "1777802400", dates: Dates{Count: UnixSeconds}, want: "2026-05-03 10:00:00"},
		{cell: "1777802400000", dates: Dates{Count: UnixMillis}, want: "2026-05-03 10:00:00"},
		{cell: "2026-02-29"},
		{cell: "31/02/2026", dates: Dates{Order: DayFirst}},
		{cell: "1900-01-01"},
		{cell: "0000-00-00"},
		{cell: "2026-05-03 25:00"},
		{cell: "2026-05-03 10:61"},
		{cell: "2026-05-03 tomorrow"},
		{cell: "10.0.0.1", dates: Dates{Order: DayFirst}},
		{cell: "May 2026"},
		{cell: "3 5 May"},
		{cell: "Maybe 3 2026"},
		{cell: ""},
		{cell: "yesterday"},
		{cell: "2026-05"},
	}
	zone := NewZone(nil)
	for _, tt := range tests {
		m, ok := tt.dates.Parse([]byte(tt.cell))
		got := ""
		if ok {
			got = time.UnixMicro(zone.Micros(m)).UTC().Format("2006-01-02 15:04:05")
		}
		if got != tt.want {
			t.Errorf("Parse(%q, %v) = %q, want %q", tt.cell, tt.dates, got, tt.want)
		}
	}
}

func TestZoneFollowsTheClock(t *testing.T) {
	loc, err := time.LoadLocation("Europe/Copenhagen")
	if err != nil {
		t.Fatal(err)
	}
	zone := NewZone(loc)
	rapid.Check(t, func(t *rapid.T) {
		day := rapid.IntRange(0, 47400).Draw(t, "day")
		second := rapid.IntRange(0, 86399).Draw(t, "second")
		m := Moment{Day: int32(day), Second: int32(second)}
		y, mon, d := m.Date()
		want := time.Date(y, mon, d, second/3600, second/60%60, second%60, 0, loc)
		if got := zone.Micros(m); got != want.UnixMicro() {
			t.Fatalf("%v: got %d, want %d (%v)", m, got, want.UnixMicro(), want)
		}
	})
}

func TestEveryDayOfTheCalendarReads(t *testing.T) {
	at := time.Date(firstYear, 1, 1, 0, 0, 0, 0, time.UTC)
	for n := int32(0); at.Year() <= lastYear; n++ {
		for layout, d := range map[string]Dates{
			"2006-01-02": {}, "02/01/2006": {Order: DayFirst}, "1.2.2006": {Order: MonthFirst}, "2 January 2006": {},
		} {
			m, ok := d.Parse([]byte(at.Format(layout)))
			if !ok || m.Day != n {
				t.Fatalf("%s: day %d, ok %v, want day %d", at.Format(layout), m.Day, ok, n)
			}
		}
		at = at.AddDate(0, 0, 1)
	}
}

func BenchmarkDateISO(b *testing.B) {
	zone, cell := NewZone(nil), []byte("2026-05-03")
	b.ReportAllocs()
	for b.Loop() {
		m, _ := Dates{}.Parse(cell)
		zone.Micros(m)
	}
}

func BenchmarkDateDayFirst(b *testing.B) {
	cell := []byte("03/04/2026 10:15")
	b.ReportAllocs()
	for b.Loop() {
		Dates{Order: DayFirst}.Parse(cell)
	}
}
