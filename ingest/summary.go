package ingest

import "fmt"

// Summary says what one ingest did. Visits, Faults, Parts and Quarantined are totals of the whole
// history after it; the rest is about this run.
type Summary struct {
	Files       []FileSummary `json:"files"`
	Visits      int64         `json:"visits"`
	Faults      int64         `json:"faults"`
	Parts       int64         `json:"parts"`
	Quarantined int64         `json:"quarantined"`
	New         int64         `json:"new"`       // tickets the history did not have
	Replaced    int64         `json:"replaced"`  // tickets whose earlier version this run replaced
	Unchanged   int64         `json:"unchanged"` // tickets found as the history has them
	Notes       []Note        `json:"notes"`     // what was noticed, most frequent first within each topic
}

// FileSummary is the account of one log: Read = Accepted + Quarantined + Duplicate, in rows.
type FileSummary struct {
	Name        string      `json:"name"`
	Read        int64       `json:"read"`
	Accepted    int64       `json:"accepted"`
	Quarantined int64       `json:"quarantined"`
	Duplicate   int64       `json:"duplicate"`
	Replaced    int64       `json:"replaced"` // tickets, not rows
	Format      string      `json:"format"`
	Encoding    string      `json:"encoding"`
	Delimiter   string      `json:"delimiter"`
	Dates       string      `json:"dates"`             // day-first, month-first or year-first
	Shape       string      `json:"shape"`             // tickets or part lines
	Known       bool        `json:"known"`             // ingested before, byte for byte
	Repaired    int64       `json:"repaired"`          // lines that were no valid UTF-8
	Ragged      int64       `json:"ragged"`            // rows with fewer cells than the header, read as if the rest were empty
	Skipped     []string    `json:"skipped,omitempty"` // sheets and columns that hold something else
	Doubts      []string    `json:"doubts,omitempty"`  // what a person may want to look at in how its columns are read
	Path        string      `json:"-"`                 // as given
	Columns     []ColumnUse `json:"columns"`           // what each column was taken for
}

// ColumnUse is one column of a log and the meaning it was given.
type ColumnUse struct {
	Header  string `json:"header"`
	Meaning string `json:"meaning"`
}

// Note counts one thing noticed. It is also a row of the history's quality table.
type Note struct {
	Topic   string `json:"topic"`
	Subject string `json:"subject"`
	Count   int64  `json:"count"`
	Note    string `json:"note"`
}

// balance checks that every row read ended in exactly one place.
func (f *FileSummary) balance() error {
	if f.Accepted+f.Quarantined+f.Duplicate != f.Read {
		return fmt.Errorf("%s: %d rows read, but %d accepted, %d quarantined and %d duplicate; nothing was written; please report this",
			f.Path, f.Read, f.Accepted, f.Quarantined, f.Duplicate)
	}
	return nil
}

// Progress says how far a run is. Done and Total are bytes of text; Total is what the file's size
// suggests and may be passed by a packed file. Of the joining of tickets whose rows lie apart they are parts.
type Progress struct {
	Stage string // survey, read, join
	File  string // empty for join
	Done  int64
	Total int64
	Rows  int64
}
