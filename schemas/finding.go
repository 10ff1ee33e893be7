package schemas

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"io"
)

// FindingsJSONSchema is the JSON Schema (draft 2020-12) of findings.json.
//
//go:embed findings.schema.json
var FindingsJSONSchema []byte

// Kinds of finding.
const (
	KindShare  = "share"
	KindPair   = "pair"
	KindTime   = "time"
	KindTrend  = "trend"
	KindBatch  = "batch"
	KindReturn = "return"
	KindPrice  = "price"
	KindStock  = "stock"
)

// Grades of evidence.
const (
	Firm    = "firm"    // q < 0.05 and the interval clears the stated practical threshold
	Leaning = "leaning" // p < 0.05, not yet after correction
	Thin    = "thin"    // looks notable, too few cases
)

// Findings is the whole of findings.json, strongest first.
type Findings struct {
	Version  int               `json:"version"`
	AsOf     string            `json:"as_of"`            // 2026-05-31
	Tables   map[string]string `json:"tables,omitempty"` // SHA-256 in hex of each file that these findings were written with, but quality, by name: tables/shares.csv
	Findings []Finding         `json:"findings"`
}

// Finding is one sentence that stands on one table row.
type Finding struct {
	ID       string           `json:"id"` // stable: kind and subject, never a rank
	Kind     string           `json:"kind"`
	Grade    string           `json:"grade"`
	Subject  Subject          `json:"subject"`
	Headline string           `json:"headline"` // one plain sentence with its numbers
	Numbers  map[string]Float `json:"numbers"`
	Action   string           `json:"action"`
	Caution  string           `json:"caution"`
	Method   string           `json:"method"`
	Period   Period           `json:"period"`
	Row      RowRef           `json:"row"`
}

// Subject says what the finding is about; empty fields are left out.
type Subject struct {
	Model      string   `json:"model,omitempty"`
	Models     []string `json:"models,omitempty"`
	Class      string   `json:"class,omitempty"`
	Component  string   `json:"component,omitempty"`
	ComponentB string   `json:"component_b,omitempty"`
	Lot        string   `json:"lot,omitempty"`
	Supplier   string   `json:"supplier,omitempty"`
	Grade      string   `json:"grade,omitempty"`
	MadeWeek   string   `json:"made_week,omitempty"`
	Part       string   `json:"part,omitempty"`
}

// Period is the span of days the finding rests on, both included.
type Period struct {
	From string `json:"from"`
	To   string `json:"to"`
}

// RowRef names the table row a finding rests on: table "shares", key {"model": ..., "component": ...}.
type RowRef struct {
	Table string            `json:"table"`
	Key   map[string]string `json:"key"`
}

// WriteFindings writes findings.json, indented.
func WriteFindings(w io.Writer, f Findings) error {
	if f.Findings == nil {
		f.Findings = []Finding{}
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(f)
}

// ReadFindings reads what WriteFindings wrote and refuses another version.
func ReadFindings(r io.Reader) (Findings, error) {
	var f Findings
	if err := json.NewDecoder(r).Decode(&f); err != nil {
		return Findings{}, fmt.Errorf("findings.json: %w; run faultgrain analyse again", err)
	}
	if f.Version != 1 {
		return Findings{}, fmt.Errorf("findings.json: version %d, this faultgrain reads version 1; run faultgrain analyse again", f.Version)
	}
	return f, nil
}
