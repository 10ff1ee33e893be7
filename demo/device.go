package demo

import (
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"strings"
	"time"
)

// Device is one made-up device and its owner.
type Device struct {
	Model    *Model
	Serial   string // IMEI of phones, serial number of the rest
	MadeWeek string // 2026-W07
	Owner    *Customer

	storage, colour string
	lastSeen        time.Time
}

var (
	storages = []string{"64GB", "128GB", "256 GB"}
	colours  = map[string][]string{
		"en": {"black", "blue", "green", "silver"},
		"de": {"schwarz", "blau", "grün", "silber"},
		"fr": {"noir", "bleu", "vert", "argent"},
	}
)

func newDevice(r *rand.Rand, m *Model, day time.Time, owner *Customer, language string, n int) *Device {
	made := day.AddDate(0, 0, -7*(20+r.IntN(140)))
	year, week := made.ISOWeek()
	d := &Device{Model: m, Owner: owner, lastSeen: day,
		MadeWeek: fmt.Sprintf("%d-W%02d", year, week),
		storage:  pick(r, storages), colour: pick(r, colours[language])}
	if m.Class == "phone" {
		d.Serial = imei(m, n)
	} else {
		d.Serial = fmt.Sprintf("%s%02d%02d%c%05d", serialStart(m), year%100, week, 'A'+rune(r.IntN(26)), n%100_000)
	}
	return d
}

// serialStart is the maker-defined prefix: two letters of the maker, one of the model.
func serialStart(m *Model) string {
	return strings.ToUpper(m.Maker[:2]) + string('A'+rune(fingerprint(m.Label)%26))
}

// imei makes 15 digits with a valid check digit (Luhn, 3GPP TS 23.003 annex B). The leading 00 is
// of the test range, so no real handset carries it.
func imei(m *Model, n int) string {
	body := fmt.Sprintf("00%06d%06d", fingerprint(m.Name())%1_000_000, n%1_000_000)
	return body + string('0'+rune(luhnDigit(body)))
}

// luhnDigit is the digit that makes digits followed by it pass the Luhn check.
func luhnDigit(digits string) int {
	sum := 0
	for i := range len(digits) {
		d := int(digits[len(digits)-1-i] - '0')
		if i%2 == 0 { // every second digit counted from the check digit, which comes next
			if d *= 2; d > 9 {
				d -= 9
			}
		}
		sum += d
	}
	return (10 - sum%10) % 10
}

// fingerprint is a fixed number for a word: the same in every shop and for every seed.
func fingerprint(word string) uint64 {
	h := fnv.New64a()
	_, _ = h.Write([]byte(word)) // a hash never fails
	return h.Sum64()
}

// spelling writes a model the way people at a counter do: mostly as it is, else with storage, colour,
// region, capitals or a stray space. Digits and words such as Plus are never touched.
func (d *Device) spelling(r *rand.Rand) string {
	switch r.IntN(12) {
	case 0:
		return d.Model.Label + " " + d.storage
	case 1:
		return d.Model.Name() + " " + d.storage + " " + d.colour
	case 2:
		return strings.ToUpper(d.Model.Label)
	case 3:
		return strings.ToLower(d.Model.Name())
	case 4:
		return strings.Replace(d.Model.Label, " ", "  ", 1)
	case 5:
		return d.Model.Label + " " + d.colour
	default:
		return d.Model.Label
	}
}
