package cells

import (
	"testing"

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
