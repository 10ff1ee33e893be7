package schemas

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"
	_ "time/tzdata" // zones on machines that ship none
)

// Settings is shop.toml. Every key is optional; zero values mean "not given", and the accessors
// below state the default. File names are relative to the folder of shop.toml.
type Settings struct {
	Name         string            `toml:"name"`          // the shop's name, shown in its own report only
	Zone         string            `toml:"zone"`          // IANA zone of the log's dates, such as Europe/Lisbon
	Currency     string            `toml:"currency"`      // ISO 4217, for money cells that name none
	LabourRate   *float64          `toml:"labour_rate"`   // money per hour at the bench
	WarrantyDays *int              `toml:"warranty_days"` // days after ready
	TargetMargin *float64          `toml:"target_margin"` // share of the charge, 0 to 1
	ServiceLevel *float64          `toml:"service_level"` // chance of not running out, 0 to 1
	OpeningHours map[string]string `toml:"opening_hours"` // mon = "09:00-18:00", ...
	SerialPrefix map[string]int    `toml:"serial_prefix"` // maker = characters of the serial that may be kept
	Components   string            `toml:"components"`    // the shop's own lexicon file
	Models       string            `toml:"models"`        // the shop's own models file
	Notes        string            `toml:"notes"`         // notes.toml
	Stock        string            `toml:"stock"`         // stock.csv
	Fleet        string            `toml:"fleet"`         // fleet.csv
	ReviewDays   *int              `toml:"review_days"`   // days between orders
	HoldingRate  *float64          `toml:"holding_rate"`  // share of a part's cost that a year on the shelf costs, 0 to 1
}

// LoadSettings reads shop.toml; no path gives the empty settings. A wrong key is an error with its
// line and the nearest valid name.
func LoadSettings(path string) (Settings, error) {
	var s Settings
	if path == "" {
		return s, nil
	}
	raw, err := os.ReadFile(path)
	if err != nil {
		return s, fmt.Errorf("shop settings: %w", err)
	}
	if err := DecodeTOML(path, raw, &s); err != nil {
		return Settings{}, err
	}
	dir := filepath.Dir(path)
	for _, f := range []*string{&s.Components, &s.Models, &s.Notes, &s.Stock, &s.Fleet} {
		if *f != "" && !filepath.IsAbs(*f) {
			*f = filepath.Join(dir, *f)
		}
	}
	if err := s.check(); err != nil {
		return Settings{}, fmt.Errorf("%s: %w", path, err)
	}
	return s, nil
}

func (s Settings) check() error {
	if _, err := s.Location(); err != nil {
		return err
	}
	share := func(key string, v *float64) error {
		if v != nil && !(*v > 0 && *v < 1) {
			return fmt.Errorf("key %q: found %v, want a number between 0 and 1", key, *v)
		}
		return nil
	}
	positive := func(key string, v *int) error {
		if v != nil && *v <= 0 {
			return fmt.Errorf("key %q: found %d, want a whole number above 0", key, *v)
		}
		return nil
	}
	var labour error
	if s.LabourRate != nil && !(*s.LabourRate >= 0) {
		labour = fmt.Errorf("key %q: found %v, want money per hour, 0 or more", "labour_rate", *s.LabourRate)
	}
	return errors.Join(share("target_margin", s.TargetMargin), share("service_level", s.ServiceLevel), share("holding_rate", s.HoldingRate),
		positive("warranty_days", s.WarrantyDays), positive("review_days", s.ReviewDays), labour)
}

// Location is the shop's zone; UTC when shop.toml names none.
func (s Settings) Location() (*time.Location, error) {
	if s.Zone == "" {
		return time.UTC, nil
	}
	l, err := time.LoadLocation(s.Zone)
	if err != nil {
		return nil, fmt.Errorf("key %q: found %q, want an IANA zone such as Europe/Lisbon", "zone", s.Zone)
	}
	return l, nil
}

// Warranty is warranty_days, 90 when not given.
func (s Settings) Warranty() int { return orInt(s.WarrantyDays, 90) }

// Review is review_days, 7 when not given.
func (s Settings) Review() int { return orInt(s.ReviewDays, 7) }

// Service is service_level, 0.95 when not given.
func (s Settings) Service() float64 {
	if s.ServiceLevel == nil {
		return 0.95
	}
	return *s.ServiceLevel
}

func orInt(v *int, d int) int {
	if v == nil {
		return d
	}
	return *v
}
