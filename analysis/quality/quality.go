// Package quality lists the health of the data: what was read, folded, emptied, quarantined and unread,
// and what the report could not work out for want of which column or key.
//
// In: a tally.Log and the shop's settings. Out: rows of tables/quality.csv. It refuses to hide anything:
// every visit that some question leaves out is counted here.
package quality

import (
	"cmp"
	"context"
	_ "embed"
	"slices"

	"faultgrain/analysis/tally"
	"faultgrain/schemas"
)

//go:embed quality.sql
var noticedSQL string

//go:embed visits.sql
var visitsSQL string

//go:embed parts.sql
var partsSQL string

type noticed struct {
	Topic   string `sql:"topic"`
	Subject string `sql:"subject"`
	Count   int    `sql:"count"`
	Note    string `sql:"note"`
}

type visitGaps struct {
	Unread      int `sql:"unread"`
	Undiagnosed int `sql:"undiagnosed"`
	NoDevice    int `sql:"no_device"`
	NoOutcome   int `sql:"no_outcome"`
	NoReady     int `sql:"no_ready"`
	NoMinutes   int `sql:"no_minutes"`
	NoCharge    int `sql:"no_charge"`
}

type partGaps struct {
	NoComponent int `sql:"no_component"`
	NoCost      int `sql:"no_cost"`
	NoOrigin    int `sql:"no_origin"`
}

// Given says which optional inputs the run had.
type Given struct{ Stock, Fleet bool }

// Compute returns the rows ordered by topic and subject. Counts of 0 are left out, but for files read.
func Compute(ctx context.Context, log *tally.Log, shop schemas.Settings, given Given) ([]schemas.QualityRow, error) {
	seen, err := tally.Query[noticed](ctx, log, noticedSQL)
	if err != nil {
		return nil, err
	}
	visits, err := tally.Query[visitGaps](ctx, log, visitsSQL)
	if err != nil {
		return nil, err
	}
	parts, err := tally.Query[partGaps](ctx, log, partsSQL)
	if err != nil {
		return nil, err
	}
	var rows []schemas.QualityRow
	add := func(topic, subject string, count int, note string) {
		if count > 0 {
			rows = append(rows, schemas.QualityRow{Topic: topic, Subject: subject, Count: count, Note: note})
		}
	}
	for _, s := range log.Sources {
		rows = append(rows, schemas.QualityRow{Topic: "read", Subject: s.Name, Count: int(s.Read), Note: "rows read"})
		add("accepted", s.Name, int(s.Accepted), "rows that became part of a ticket")
		add("duplicate", s.Name, int(s.Duplicate), "rows that repeat a row already read")
		add("quarantined", s.Name, int(s.Quarantined), "rows set aside with a reason; correct and ingest them again")
		add("replaced", s.Name, int(s.Replaced), "tickets that replaced an earlier version")
	}
	for _, n := range seen {
		add(n.Topic, n.Subject, n.Count, n.Note)
	}
	v, p := visits[0], parts[0]
	add("unread", "visits", v.Unread, "fault text was given and no component could be read from it; add words with --components")
	add("undiagnosed", "visits", v.Undiagnosed, "no fault, no finding and no no-fault outcome; left out of every share")
	add("unknown", "serial", v.NoDevice, "visits without a serial; left out of returns and of pairs by device")
	add("unknown", "serial placeholder", log.Totals.Placeholders, "visits whose serial stands on more than 20 of them; read as without a serial")
	add("unknown", "outcome", v.NoOutcome, "visits whose outcome is not told")
	add("unknown", "ready", v.NoReady, "closed visits without a ready date; left out of turnaround times")
	add("unknown", "minutes", v.NoMinutes, "repaired visits without bench minutes; left out of bench times")
	add("unknown", "charge", v.NoCharge, "repaired visits without a charge; left out of margins")
	add("unknown", "part", p.NoComponent, "part lines whose text no lexicon entry reads")
	add("unknown", "unit_cost", p.NoCost, "part lines without a cost; left out of prices")
	add("unknown", "supplier, lot and grade", p.NoOrigin, "part lines of unknown origin; they can be linked to no batch")
	add("later", "visits", log.Totals.Later, "opened after the as-of day; left out of everything")
	for _, k := range missingKeys(shop, given) {
		rows = append(rows, schemas.QualityRow{Topic: "missing-key", Subject: k[0], Note: k[1]})
	}
	Sort(rows)
	return rows, nil
}

// Sort puts rows in the order of the table: by topic, subject and note.
func Sort(rows []schemas.QualityRow) {
	slices.SortStableFunc(rows, func(a, b schemas.QualityRow) int {
		return cmp.Or(cmp.Compare(a.Topic, b.Topic), cmp.Compare(a.Subject, b.Subject), cmp.Compare(a.Note, b.Note))
	})
}

// missingKeys says what the report could not work out for want of which key of shop.toml.
func missingKeys(s schemas.Settings, given Given) [][2]string {
	var keys [][2]string
	want := func(missing bool, key, lost string) {
		if missing {
			keys = append(keys, [2]string{key, lost})
		}
	}
	want(s.Zone == "", "zone", "dates are read as UTC; visits near midnight may count in the next month")
	want(s.LabourRate == nil, "labour_rate", "no margin after labour and no price floor")
	want(s.TargetMargin == nil, "target_margin", "no price floor and no list of jobs below target")
	want(s.WarrantyDays == nil, "warranty_days", "returns are counted within 90 days")
	want(s.ServiceLevel == nil, "service_level", "parts without a margin are stocked for 0.95")
	want(given.Stock && s.HoldingRate == nil, "holding_rate", "what a part on the shelf costs is not known: parts are stocked for the service level, and the backtest takes 25% of a part's cost a year")
	want(s.ReviewDays == nil, "review_days", "parts are ordered as if every 7 days")
	want(!given.Stock, "stock", "no order list: on hand, on order and lead times are not known")
	want(!given.Fleet, "fleet", "no failures per 1,000 device-months: how many devices are out there is not known")
	return keys
}
