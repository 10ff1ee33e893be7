package demo

import (
	"bytes"
	"fmt"
	"path/filepath"
)

// shopModels is models.toml of shop one: what spelling alone can't tell.
const shopModels = `# Names only this shop uses. Spellings that differ by case, storage, colour or region need no entry.

[[model]]
name = "Plover 8"
maker = "Varnby"
aliases = ["P8"]

[[model]]
name = "Sedge 5 Plus"
maker = "Ostrel"
aliases = ["SDG-5P"]
`

func (e *exporter) writeModels() error {
	var err error
	e.files.Models, err = e.create("models.toml", []byte(shopModels))
	return err
}

// shopNotes is notes.toml of shop one: remarks for its own bench, one of which may travel.
const shopNotes = `# Short remarks that stand on the bench sheets. They stay in the shop unless share = true.

[[note]]
model = "Varnby Plover 8"
text = "Clips break: start at the corner by the charge port, pick at 2 mm and no deeper."
share = true

[[note]]
model = "Varnby Plover 8"
component = "loudspeaker"
text = "Lift the mesh of the earpiece first and test it before the back is glued down."

[[note]]
family = "Sedge"
component = "battery"
text = "Two pull tabs under the foil. Never pry from the middle: a bent, swollen or warm cell is set apart and handed on by local rules."

[[note]]
component = "hinge"
text = "Tighten the hinge screws crosswise and open the lid ten times before it goes out."
`

func (e *exporter) writeNotes() error {
	var err error
	e.files.Notes, err = e.create("notes.toml", []byte(shopNotes))
	return err
}

// writeSettings writes shop.toml. Shop three leaves most keys out, so that its report shows what the
// software says for want of them.
func (e *exporter) writeSettings() error {
	var out bytes.Buffer
	fmt.Fprintf(&out, "# The made-up shop's own settings. Every key may be left out.\n")
	fmt.Fprintf(&out, "name = %q\nzone = %q\ncurrency = \"EUR\"\n", e.shop.Name, e.shop.Zone)
	fmt.Fprintf(&out, "stock = %q\n", filepath.Base(e.files.Stock))
	if e.shop.language != "fr" {
		fmt.Fprintf(&out, "labour_rate = %.2f        # money per hour at the bench\n", LabourRate)
		fmt.Fprintf(&out, "warranty_days = 90\ntarget_margin = %.2f\nservice_level = 0.95\nreview_days = 7\n", TargetMargin)
		fmt.Fprintf(&out, "holding_rate = 0.25        # share of its cost that a part costs in a year on the shelf\n")
	}
	for _, f := range []struct{ key, path string }{{"fleet", e.files.Fleet}, {"notes", e.files.Notes}, {"models", e.files.Models}} {
		if f.path != "" {
			fmt.Fprintf(&out, "%s = %q\n", f.key, filepath.Base(f.path))
		}
	}
	if e.shop.language != "fr" {
		fmt.Fprintf(&out, "\n[serial_prefix]           # characters of the serial number that name no device\n")
		for _, maker := range []string{"Brindock", "Tarsk", "Quorvel"} {
			fmt.Fprintf(&out, "%s = 3\n", maker)
		}
		fmt.Fprintf(&out, "\n[opening_hours]\n")
		for _, day := range []string{"mon", "tue", "wed", "thu", "fri", "sat"} {
			fmt.Fprintf(&out, "%s = \"09:00-18:00\"\n", day)
		}
	}
	var err error
	e.files.Settings, err = e.create("shop.toml", out.Bytes())
	return err
}
