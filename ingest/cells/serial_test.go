package cells

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

// 3GPP TS 23.003, annex B.3, works the check digit of IMEI 2605 3179 3111 383 as 7 (from memory); 7992739871 with
// check digit 3 is the usual example of the formula of ISO/IEC 7812-1 (from memory).
func TestLuhn(t *testing.T) {
	for digits, want := range map[string]bool{
		"260531793113837": true, "260531793113838": false, "79927398713": true, "79927398710": false, "": false, "0": false, "1a": false,
	} {
		if got := Luhn([]byte(digits)); got != want {
			t.Errorf("Luhn(%q) = %v, want %v", digits, got, want)
		}
	}
}

// The formula finds every single wrong digit.
func TestLuhnFindsOneWrongDigit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := []byte(rapid.StringMatching(`[0-9]{14}`).Draw(t, "digits"))
		for c := byte('0'); c <= '9'; c++ {
			if Luhn(append(d[:14:14], c)) {
				d = append(d[:14:14], c)
				break
			}
		}
		if !Luhn(d) {
			t.Fatalf("no check digit fits %s", d)
		}
		at := rapid.IntRange(0, 14).Draw(t, "at")
		d[at] = '0' + (d[at]-'0'+byte(rapid.IntRange(1, 9).Draw(t, "by")))%10
		if Luhn(d) {
			t.Fatalf("%s has a wrong digit at %d and passes", d, at)
		}
	})
}

func TestSerial(t *testing.T) {
	for cell, want := range map[string]string{
		"260531793113837": "26053179311383", "26-053179-311383-7": "26053179311383", "26 053179 311383 7": "26053179311383",
		"3505317931138312": "35053179311383", // IMEISV: the last two digits are the software version
		"260531793113838":  "260531793113838",
		"lk-77 a1b2":       "LK77A1B2", "sn: 00A1B2": "SN00A1B2",
		"unknown": "", "n/a": "", "000000000000000": "", "123456789": "", "12": "12", "7": "", "S-1": "S1", "D012": "D012", "3.56938E+14": "", "": "", "xxxxxx": "", "none": "", "unbekannt": "",
	} {
		got, ok := AppendSerial(nil, []byte(cell))
		if string(got) != want || ok != (want != "") {
			t.Errorf("AppendSerial(%q) = %q, %v, want %q", cell, got, ok, want)
		}
	}
}

func TestIMEI(t *testing.T) {
	for cell, want := range map[string]bool{"260531793113837": true, "26-053179-311383-7": true, "260531793113838": false, "000000000000000": false, "7992739871": false} {
		if got := IMEI([]byte(cell)); got != want {
			t.Errorf("IMEI(%q) = %v, want %v", cell, got, want)
		}
	}
}

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

func TestBlank(t *testing.T) {
	for _, c := range []string{"", "  ", "-", "--", "—", "?", "n/a", "N.A.", "#N/A", "null", "None", "unknown", "Unbekannt", "inconnu", "onbekend", "desconocido", "ukendt", "0000-00-00", "0000-00-00 00:00:00", "\u00a0"} {
		if !Blank([]byte(c)) {
			t.Errorf("Blank(%q) = false", c)
		}
	}
	for _, c := range []string{"0", "x", "2026-05-03", "screen", "00", "nano"} {
		if Blank([]byte(c)) {
			t.Errorf("Blank(%q) = true", c)
		}
	}
}

func TestKeys(t *testing.T) {
	for s, want := range map[string]string{"Auftrags-Nr.": "auftragsnr", "Gerät": "gerat", "Straße": "strasse", "N° de série": "ndeserie", "Łódź": "lodz", "Größe": "grosse", "e\u0301t\u00e9": "ete"} {
		if got := Key(s); got != want {
			t.Errorf("Key(%q) = %q, want %q", s, got, want)
		}
	}
	for s, want := range map[string]string{"  Space   Grey! ": "space grey", "l'écran": "l ecran", "e\u0301 t\u00e9": "e te", "a--b": "a b"} {
		if got := string(AppendWords(nil, []byte(s))); got != want {
			t.Errorf("AppendWords(%q) = %q, want %q", s, got, want)
		}
	}
}
