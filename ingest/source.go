package ingest

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"

	"faultgrain/ingest/cells"
	"faultgrain/ingest/columns"
	"faultgrain/ingest/logfile"

	"github.com/zeebo/xxh3"
)

// source is one log of a run.
type source struct {
	index     int32 // place on the command line
	path      string
	file      *logfile.File
	skipped   []string // what else the file holds and is not read
	columns   columns.Map
	layout    layout
	constants [meanings][]byte // what columns.toml says of every row
	lines     bool             // its rows only add to tickets of other logs
	seed      uint64           // of row hashes: rows under other headers are other rows
	context   uint64           // hash of all that decides how its rows read

	sha    string
	rows   int64
	hashes []*runHashes
	known  bool // the history has it already
	again  bool // an earlier log of the run is the same, byte for byte
}

// layout says where a log has what, and how its cells are written.
type layout struct {
	width   int
	at      [meanings]int // first column of each meaning, -1 for none
	found   []int         // columns of findings
	text    []int         // columns of fault text
	notes   []int         // columns of notes
	parts   []int         // columns of part names
	dates   []dateColumn
	numbers []numberColumn
}

const meanings = len(columns.Map{}.Constant)

type dateColumn struct {
	column int
	of     int // openedAt, ...
	dates  cells.Dates
}

type numberColumn struct {
	column   int
	of       columns.Meaning
	mark     cells.Mark
	perUnit  float64 // minutes in one of a bare number
	currency string  // of the header
}

// open opens the logs and settles what their columns mean.
func (r *run) open(ctx context.Context, logs []string) error {
	if len(logs) == 0 {
		return errNoLogs
	}
	complete := false
	for _, path := range logs {
		sources, err := r.openSources(ctx, path)
		if err != nil {
			return err
		}
		for _, s := range sources {
			s.index = int32(len(r.sources))
			complete = complete || !s.lines
			r.sources = append(r.sources, s)
		}
	}
	r.forgiveUnused()
	namesShop := func(s *source) bool { return s.layout.at[columns.Shop] >= 0 || s.columns.Constant[columns.Shop] != "" }
	for _, s := range r.sources {
		if s.lines && !complete && (!s.columns.Lines() || s.looksWhole()) {
			return fmt.Errorf("%s: %w", s.path, missingColumns(&s.columns))
		}
		for _, t := range r.sources {
			r.joinByTicket = r.joinByTicket || s.lines && !t.lines && !namesShop(s) && namesShop(t)
		}
	}
	return nil
}

// looksWhole says whether a log that lacks a column of tickets seems to be one of tickets all the same: it tells of devices
// and faults, which part lines need not.
func (s *source) looksWhole() bool {
	m := &s.columns
	device := m.Has(columns.Model) || m.Has(columns.Maker) || m.Has(columns.Family) || m.Has(columns.Class)
	return (device || m.Has(columns.Opened)) && (m.Has(columns.Fault) || m.Has(columns.Found) || m.Has(columns.Outcome))
}

// forgiveUnused leaves in doubt only keys of columns.toml that name a column of no log.
func (r *run) forgiveUnused() {
	lacks := map[string]int{}
	for _, s := range r.sources {
		for _, key := range s.columns.Unused {
			lacks[key]++
		}
	}
	for _, s := range r.sources {
		s.columns.Unused = slices.DeleteFunc(s.columns.Unused, func(key string) bool { return lacks[key] < len(r.sources) })
	}
}

// openSources opens a log. A workbook may hold several: sheets that are none are left out and told.
func (r *run) openSources(ctx context.Context, path string) ([]*source, error) {
	pick := func(option, configured string) string {
		if option != "" {
			return option
		}
		return configured
	}
	file, err := logfile.Open(ctx, path, logfile.Options{
		Encoding:   pick(r.opt.Encoding, r.columns.Encoding),
		Delimiter:  pick(r.opt.Delimiter, r.columns.Delimiter),
		Sheet:      pick(r.opt.Sheet, r.columns.Sheet),
		ChunkBytes: r.opt.ChunkBytes,
	})
	if err != nil {
		return nil, err
	}
	var sources []*source
	var skipped []string
	var none error // why the first sheet that is no log is none
	for _, table := range append([]*logfile.File{file}, file.Further...) {
		s, err := r.newSource(path, table)
		var missing *columns.MissingColumns
		switch {
		case err == nil && (len(file.Further) == 0 || s.tells()):
			sources = append(sources, s)
		case err == nil || errors.Is(err, columns.ErrNoLog) || errors.As(err, &missing):
			skipped = append(skipped, table.Sheets...)
			if none == nil {
				none = err
			}
		default:
			return nil, err
		}
	}
	if len(sources) == 0 {
		return nil, cmp.Or(none, fmt.Errorf("%s: no sheet tells more than tickets; name the log's sheet with --sheet", path))
	}
	sources[0].skipped = slices.Concat(file.Skipped, skipped)
	return sources, nil
}

// tells says whether a log tells anything of its tickets.
func (s *source) tells() bool {
	return slices.ContainsFunc(s.columns.Of, func(m columns.Meaning) bool {
		switch m {
		case columns.Unknown, columns.Personal, columns.Ignore, columns.Ticket, columns.Shop:
			return false
		}
		return true
	})
}

// newSource settles what the columns of one table mean.
func (r *run) newSource(path string, file *logfile.File) (_ *source, err error) {
	s := &source{path: path, file: file}
	if s.columns, err = columns.Recognise(file.Header, r.columns); err != nil {
		var missing *columns.MissingColumns
		if errors.Is(err, columns.ErrNoLog) {
			return nil, fmt.Errorf("%s: %w: is this a repair log? run faultgrain columns %s", path, columns.ErrNoLog, path)
		}
		if errors.As(err, &missing) {
			return nil, fmt.Errorf("%s: %w", path, missing)
		}
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	s.lines = !s.columns.Complete()
	s.layout = newLayout(&s.columns)
	for of, text := range s.columns.Constant {
		s.constants[of] = []byte(text)
	}
	h := xxh3.New()
	for _, name := range file.Header {
		_, _ = h.WriteString(name + "\x00")
	}
	s.seed = h.Sum64()
	return s, nil
}

// missingColumns says what a log lacks to hold tickets.
func missingColumns(m *columns.Map) error {
	var missing []string
	if !m.Has(columns.Opened) {
		missing = append(missing, columns.Opened.String())
	}
	if !m.Has(columns.Model) && !m.Has(columns.Maker) && !m.Has(columns.Family) && !m.Has(columns.Class) {
		missing = append(missing, columns.Model.String())
	}
	return &columns.MissingColumns{Missing: missing}
}

func newLayout(m *columns.Map) layout {
	ly := layout{width: len(m.Header), found: m.Cols(columns.Found), text: m.Cols(columns.Fault), notes: m.Cols(columns.Notes), parts: m.Cols(columns.Part)}
	for i := range ly.at {
		ly.at[i] = m.Col(columns.Meaning(i))
	}
	for i, of := range []columns.Meaning{columns.Opened, columns.Ready, columns.Collected} {
		if col := ly.at[of]; col >= 0 {
			ly.dates = append(ly.dates, dateColumn{column: col, of: i})
		}
	}
	for _, of := range []columns.Meaning{columns.Quantity, columns.UnitCost, columns.Minutes, columns.Charge} {
		if col := ly.at[of]; col >= 0 {
			ly.numbers = append(ly.numbers, numberColumn{column: col, of: of, mark: m.Marks[col], perUnit: m.PerUnit[col], currency: m.Currency[col]})
		}
	}
	return ly
}

// settleMarks decides the decimal mark of each column of numbers: what columns.toml tells, else the
// column itself, else what the log's other columns tell.
func (s *source) settleMarks(votes []cells.MarkVote) {
	var together cells.MarkVote
	for i := range votes {
		together.Merge(&votes[i])
	}
	all, _ := together.Settle()
	for i := range s.layout.numbers {
		n := &s.layout.numbers[i]
		if n.mark != 0 {
			continue
		}
		if n.mark, _ = votes[i].Settle(); n.mark == 0 {
			n.mark = all
		}
	}
}

// shopCell is the shop a row names, or the one columns.toml names for all.
func (s *source) shopCell(row *logfile.Row) []byte {
	if col := s.layout.at[columns.Shop]; col >= 0 {
		if cell := cells.Trim(row.Cell(col)); len(cell) > 0 {
			return cell
		}
	}
	return s.constants[columns.Shop]
}

// identity is the ticket a row names, and the shop that numbered it.
func (s *source) identity(row *logfile.Row) (ticket, shop []byte) {
	return cells.Trim(row.Cell(s.layout.at[columns.Ticket])), s.shopCell(row)
}

// rowHash tells rows apart; equal rows are duplicates.
func (s *source) rowHash(raw []byte) uint64 { return xxh3.HashSeed(raw, s.seed) }

// summary is the log's account before its rows are counted.
func (s *source) summary() FileSummary {
	f := FileSummary{Name: s.file.Name, Path: s.path, Format: s.file.Format, Encoding: s.file.Encoding, Delimiter: s.file.Delimiter,
		Shape: "tickets", Known: s.known, Skipped: s.skipped, Doubts: s.columns.Doubts(), Columns: []ColumnUse{}}
	if s.lines {
		f.Shape = "part lines"
	}
	for _, d := range s.layout.dates {
		if d.of == openedAt {
			f.Dates = d.dates.Order.String()
		}
	}
	for i, h := range s.file.Header {
		f.Columns = append(f.Columns, ColumnUse{Header: h, Meaning: s.columns.Of[i].String()})
	}
	return f
}
