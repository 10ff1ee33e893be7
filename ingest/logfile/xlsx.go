package logfile

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"
)

// maxUnpacked bounds what a workbook may unpack to, in bytes. It is held in memory, never on disk, where names and numbers of
// customers would lie about.
const maxUnpacked = 1 << 30

var (
	zipMagic = []byte("PK\x03\x04")
	// cfbMagic starts the old binary workbooks, and the new ones when a password locks them.
	cfbMagic = []byte{0xd0, 0xcf, 0x11, 0xe0, 0xa1, 0xb1, 0x1a, 0xe1}
)

// openXLSX settles what the sheets' columns are. Sheets whose columns are mostly the same are read as one log: months on a sheet
// each. Its header is the union of theirs. Sheets under other columns are further logs: part lines beside tickets.
func (f *File) openXLSX(ctx context.Context, opt Options) (err error) {
	defer recovered(f.Path, &err)
	if f.Packing != "" {
		return fmt.Errorf("%s: a packed workbook; unpack it first", f.Path)
	}
	book, err := f.openBook()
	if err != nil {
		return err
	}
	defer book.Close()
	f.Format, f.Encoding = "xlsx", UTF8
	names, err := f.sheetNames(book, opt.Sheet)
	if err != nil {
		return err
	}
	var groups []*sheetGroup
	for _, name := range names {
		if err := ctx.Err(); err != nil {
			return err
		}
		s, err := findTable(book, name)
		if err != nil {
			return fmt.Errorf("%s: sheet %q: %w; save it as CSV", f.Path, name, err)
		}
		if s.header == nil {
			continue
		}
		i := slices.IndexFunc(groups, func(g *sheetGroup) bool { return alike(g.sheets[0].header, s.header) })
		if i < 0 {
			i = len(groups)
			groups = append(groups, &sheetGroup{})
		}
		g := groups[i]
		s.at = mergeHeader(&g.header, s.header)
		g.sheets = append(g.sheets, s)
	}
	if len(groups) == 0 {
		return fmt.Errorf("%s: no sheet with a header and rows below it; export the log again", f.Path)
	}
	for _, g := range groups[1:] {
		further := *f
		further.further = true
		further.Name += " [" + g.sheets[0].name + "]"
		further.readSheets(g)
		f.Further = append(f.Further, &further)
	}
	f.readSheets(groups[0])
	return nil
}

// A sheetGroup is sheets that are read as one log.
type sheetGroup struct {
	header []string
	sheets []sheet
}

// readSheets makes the file a log of the group's sheets.
func (f *File) readSheets(g *sheetGroup) {
	f.Header, f.Line = g.header, g.sheets[0].line
	for _, s := range g.sheets {
		f.Sheets = append(f.Sheets, s.name)
	}
	f.start = func(ctx context.Context) (records, io.Closer, error) {
		book, err := f.openBook()
		if err != nil {
			return nil, nil, err
		}
		return &sheetRecords{ctx: ctx, book: book, sheets: g.sheets, width: len(g.header), size: f.chunkBytes}, book, nil
	}
}

func (f *File) openBook() (book *excelize.File, err error) {
	defer recovered(f.Path, &err)
	in, err := os.Open(f.Path)
	if err != nil {
		return nil, explain(f.Path, err)
	}
	defer in.Close()
	book, err = excelize.OpenReader(in, excelize.Options{RawCellValue: true, UnzipSizeLimit: maxUnpacked, UnzipXMLSizeLimit: maxUnpacked})
	switch {
	case err == nil:
		return book, nil
	case errors.Is(err, excelize.ErrWorkbookFileFormat):
		return nil, fmt.Errorf("%s: no workbook this program reads; save it as .xlsx or CSV", f.Path)
	case strings.Contains(err.Error(), "unzip size"):
		return nil, fmt.Errorf("%s: the workbook unpacks to more than %d MiB; save the sheet as CSV", f.Path, maxUnpacked>>20)
	}
	return nil, fmt.Errorf("%s: damaged workbook (%w); save it again, or as CSV", f.Path, err)
}

// recovered turns a panic over a damaged workbook into an error.
func recovered(path string, err *error) {
	if r := recover(); r != nil {
		*err = fmt.Errorf("%s: damaged workbook (%v); save it again, or as CSV", path, r)
	}
}

// sheetNames lists the sheets to look at: the one asked for, or all that are not hidden.
func (f *File) sheetNames(book *excelize.File, want string) ([]string, error) {
	all := book.GetSheetList()
	if want != "" {
		for _, name := range all {
			if strings.EqualFold(name, want) {
				return []string{name}, nil
			}
		}
		return nil, fmt.Errorf("%s: no sheet %q, there are %s", f.Path, want, strings.Join(all, ", "))
	}
	var shown []string
	for _, name := range all {
		if visible, err := book.GetSheetVisible(name); err == nil && visible {
			shown = append(shown, name)
		}
	}
	if len(shown) == 0 {
		return all, nil
	}
	return shown, nil
}

// A sheet is one with a table in it.
type sheet struct {
	name   string
	header []string // nil when there is no table
	line   int64    // row of the header
	at     []int    // column of the file's header for each column of the sheet
}

// findTable finds the header: the first of the first rows with at least half as many filled cells as the fullest has.
func findTable(book *excelize.File, name string) (sheet, error) {
	s := sheet{name: name}
	rows, err := book.Rows(name)
	if err != nil {
		return s, nil // a chart, not a table
	}
	defer rows.Close()
	const look = 50
	var head [][]string
	most := 0
	for len(head) < look && rows.Next() {
		cells, err := rows.Columns()
		if err != nil {
			return s, err
		}
		head = append(head, cells)
		most = max(most, filled(cells))
	}
	if err := rows.Error(); err != nil {
		return s, err
	}
	for i, cells := range head {
		if filled(cells) < max(min(2, most), (most+1)/2) {
			continue
		}
		if !slices.ContainsFunc(head[i+1:], func(below []string) bool { return filled(below) > 0 }) {
			return s, nil
		}
		s.line = int64(i + 1)
		s.header = []string{}
		for _, c := range cells {
			s.header = append(s.header, strings.TrimSpace(c))
		}
		return s, nil
	}
	return s, nil
}

func filled(cells []string) int {
	n := 0
	for _, c := range cells {
		if strings.TrimSpace(c) != "" {
			n++
		}
	}
	return n
}

// alike says whether two sheets have more than half of their names in common, each of its own.
func alike(a, b []string) bool {
	shared := 0
	for _, n := range b {
		if n != "" && slices.Contains(a, n) {
			shared++
		}
	}
	return shared*2 > max(filled(a), filled(b))
}

// mergeHeader adds the names that header lacks and returns where each name stands. A name that occurs twice in a sheet is
// two columns.
func mergeHeader(header *[]string, names []string) []int {
	at := make([]int, len(names))
	taken := map[int]bool{}
	for i, n := range names {
		at[i] = -1
		for j, h := range *header {
			if h == n && !taken[j] {
				at[i] = j
				break
			}
		}
		if at[i] < 0 {
			at[i] = len(*header)
			*header = append(*header, n)
		}
		taken[at[i]] = true
	}
	return at
}

// sheetRecords reads one sheet after the other. A chunk never spans two, so that its lines rise.
type sheetRecords struct {
	ctx    context.Context
	book   *excelize.File
	sheets []sheet // left to read
	width  int
	size   int
	rows   *excelize.Rows // of the first of sheets
	shown  *cellForms
	line   int64
	filler filler
	cells  []string
}

func (r *sheetRecords) next(c *Chunk) (err error) {
	defer recovered("sheet "+r.current(), &err)
	for len(r.sheets) > 0 {
		if r.rows == nil {
			if err := r.open(); err != nil {
				return err
			}
		}
		r.filler.begin(c, r.line+1)
		for len(c.buf) < r.size {
			if !r.rows.Next() {
				if err := errors.Join(r.rows.Error(), r.rows.Close()); err != nil {
					return err
				}
				r.rows, r.sheets = nil, r.sheets[1:]
				break
			}
			if err := r.row(); err != nil {
				return fmt.Errorf("sheet %q, row %d: %w", r.sheets[0].name, r.line, err)
			}
		}
		if len(c.rows) > 0 {
			c.Bytes = len(c.buf)
			r.filler.finish()
			return nil
		}
	}
	return io.EOF
}

func (r *sheetRecords) current() string {
	if len(r.sheets) == 0 {
		return ""
	}
	return r.sheets[0].name
}

// open goes to the first row below the header.
func (r *sheetRecords) open() (err error) {
	s := r.sheets[0]
	if r.rows, err = r.book.Rows(s.name); err != nil {
		return err
	}
	r.shown = newCellForms(r.book, s.name)
	for r.line = 0; r.line < s.line && r.rows.Next(); r.line++ {
		if _, err := r.rows.Columns(); err != nil {
			return err
		}
	}
	return nil
}

func (r *sheetRecords) row() error {
	r.line++
	if r.line%1024 == 0 {
		if err := r.ctx.Err(); err != nil {
			return err
		}
	}
	raw, err := r.rows.Columns()
	if err != nil {
		return err
	}
	forms := r.shown.row(int(r.line))
	s := r.sheets[0]
	r.cells = slices.Grow(r.cells[:0], r.width)[:r.width]
	clear(r.cells)
	for i, text := range raw {
		if i < len(forms) {
			text = forms[i].text(text, r.shown.date1904)
		}
		switch {
		case i < len(s.at):
			r.cells[s.at[i]] = text
		case text != "": // beyond the header
			r.cells = append(r.cells, text)
		}
	}
	r.filler.start(r.line)
	for _, text := range r.cells {
		r.filler.cell(text)
	}
	r.filler.end()
	return nil
}

// isWorkbook says whether a file starts as a zip does.
func isWorkbook(sample []byte) bool { return bytes.HasPrefix(sample, zipMagic) }
