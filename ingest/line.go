package ingest

import (
	"faultgrain/ingest/history"
	"faultgrain/schemas"
)

// Words of a line that merge alike: the last that is not empty wins.
const (
	makerWord = iota
	familyWord
	modelWord
	classWord
	outcomeWord
	weekWord
	prefixWord
	currencyWord // of charge
	wordFields
)

// Instants of a line.
const (
	openedAt = iota
	readyAt
	collectedAt
	instantFields
)

// Amounts of a line.
const (
	benchMinutes = iota
	charge
	amountFields
)

// Keys of a line.
const (
	deviceKey = iota
	technicianKey
	keyFields
)

// columnOf names the fields in quality notes, in the order merge compares them.
var (
	wordColumn    = [wordFields]string{"maker", "family", "model", "class", "outcome", "made_week", "serial_prefix", "currency"}
	instantColumn = [instantFields]string{"opened", "ready", "collected"}
	amountColumn  = [amountFields]string{"minutes", "charge"}
	keyColumn     = [keyFields]string{"serial", "technician"}
)

// instant is a point in time as a cell told it.
type instant struct {
	micros int64 // since 1970 in UTC
	day    int32 // the day on the shop's calendar, since 1970-01-01
	set    bool
	clock  bool // the cell told the time of day; without one it is the day's start
}

// line is one accepted row: what it says about its ticket, with nothing personal left in it. Its
// texts may lie in a chunk or a held record and live as long as that.
type line struct {
	file   int32  // place of its log on the command line
	number int64  // line in it, from 1
	raw    uint64 // hash of the row as it stood; equal rows are duplicates

	ticket, shop string
	words        [wordFields]string
	instants     [instantFields]instant
	amounts      [amountFields]schemas.Float
	keys         [keyFields]history.Key

	part, found, text reading // components that part cells, findings and free text name
	told              bool    // fault text was given
	parts             []partLine

	lines   bool    // from a log of part lines: counts only where another log has the ticket
	refusal refusal // what to quarantine when it does not; lines logs only
	notices []notice
}

// partLine is a part line as stored, with what is needed to tell it from others.
type partLine struct {
	history.Part
	said uint64 // hash of the cell that names the part, which is not stored
	file int32  // the log it came from
}

// reading is the components a text names: ids, sorted. It is shared and must not be changed.
type reading struct {
	components []string
	named      bool // one of them is a component, not only a cause
	clear      bool // the text says that no fault was found
}

// notice is something to be counted in the quality table if the line's ticket is written.
type notice struct {
	topic, subject, note string
}

// reset empties the line and keeps the memory of its slices.
func (l *line) reset() {
	*l = line{parts: l.parts[:0], notices: l.notices[:0]}
}
