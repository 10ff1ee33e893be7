package findings

import "strings"

// lithium is the component whose faults can hurt someone.
const lithium = "battery"

// What every finding from a repair log has to carry; see section 12 of the design.
const (
	Door        = "A repair log sees only what came through the door: shares are of repairs, not of devices sold."
	Association = "Association is not cause."
	Lithium     = "Lithium cells: isolate a swollen or hot cell, do not press, pierce or charge it, and hand it to hazardous-waste handling by local rules."
)

// Caution joins sentences and adds the handling of lithium cells where one of the components is the battery.
func Caution(components []string, sentences ...string) string {
	for _, c := range components {
		if c == lithium {
			sentences = append([]string{Lithium}, sentences...)
			break
		}
	}
	return strings.Join(sentences, " ")
}
