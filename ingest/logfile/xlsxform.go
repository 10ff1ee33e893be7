package logfile

import (
	"bytes"
	"encoding/xml"
	"math"
	"path"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

// A cellForm is how a sheet shows a number. Dates, times and durations are stored as days and told from other numbers by their
// format alone.
type cellForm uint8

const (
	asStored cellForm = iota
	asDate
	asTime     // of the day, hours and minutes
	asDuration // hours that go beyond 24
	asError    // #N/A and the like
)

// text writes a stored number as it is meant: 2026-05-03, 2026-05-03 14:30:00, 0:45.
func (f cellForm) text(stored string, date1904 bool) string {
	switch f {
	case asStored:
		return stored
	case asError:
		return ""
	}
	days, err := strconv.ParseFloat(stored, 64)
	if err != nil || days < 0 || days > 2_958_466 { // 9999-12-31
		return stored
	}
	if f == asDuration || f == asTime && days < 1 {
		s := int64(math.Round(days * 86_400))
		out := strconv.FormatInt(s/3600, 10) + ":" + twoDigits(s/60%60)
		if s%60 != 0 {
			out += ":" + twoDigits(s%60)
		}
		return out
	}
	epoch := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	if date1904 {
		epoch = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	whole, part := math.Modf(days)
	t := epoch.AddDate(0, 0, int(whole)).Add(time.Duration(math.Round(part*86_400)) * time.Second)
	if t.Hour() == 0 && t.Minute() == 0 && t.Second() == 0 {
		return t.Format("2006-01-02")
	}
	return t.Format("2006-01-02 15:04:05")
}

func twoDigits(n int64) string {
	if n < 10 {
		return "0" + strconv.FormatInt(n, 10)
	}
	return strconv.FormatInt(n, 10)
}

// formOf reads a number format: a built-in one by its number (ECMA-376 part 1, 18.8.30), or its code.
func formOf(builtin int, code string) cellForm {
	if code == "" {
		switch {
		case builtin >= 14 && builtin <= 17, builtin == 22, builtin >= 27 && builtin <= 31, builtin == 36, builtin >= 50 && builtin <= 54, builtin == 57, builtin == 58:
			return asDate
		case builtin >= 18 && builtin <= 21, builtin >= 32 && builtin <= 35, builtin == 55, builtin == 56:
			return asTime
		case builtin >= 45 && builtin <= 47:
			return asDuration
		}
		return asStored
	}
	code, _, _ = strings.Cut(code, ";") // what positive numbers look like
	letters := map[byte]bool{}
	for i := 0; i < len(code); i++ {
		switch c := code[i]; c {
		case '\\', '_', '*':
			i++
		case '"':
			end := strings.IndexByte(code[i+1:], '"')
			if end < 0 {
				end = len(code) - i - 2
			}
			i += end + 1
		case '[':
			end := strings.IndexByte(code[i:], ']')
			if end < 0 {
				return asStored
			}
			switch strings.Trim(strings.ToLower(code[i+1:i+end]), "hms") {
			case "":
				return asDuration
			}
			i += end
		default:
			letters[c|0x20] = true
		}
	}
	switch {
	case strings.EqualFold(code, "general"):
		return asStored
	case letters['y'] || letters['d'] || letters['m'] && !letters['h'] && !letters['s']:
		return asDate
	case letters['h']:
		return asTime
	case letters['s']:
		return asDuration
	}
	return asStored
}

// cellForms reads the forms of a sheet's cells row by row, beside the values. Where the sheet can't be read a second time, every
// number stays as stored.
type cellForms struct {
	book     *excelize.File
	xml      *xml.Decoder
	styles   map[int]cellForm
	date1904 bool
	at       int // row of forms; rows before it have none left
	forms    []cellForm
	done     bool
}

func newCellForms(book *excelize.File, sheet string) *cellForms {
	f := &cellForms{book: book, styles: map[int]cellForm{}}
	if props, err := book.GetWorkbookProps(); err == nil && props.Date1904 != nil {
		f.date1904 = *props.Date1904
	}
	part, ok := book.Pkg.Load(sheetPart(book, sheet))
	raw, isBytes := part.([]byte)
	if !ok || !isBytes {
		f.done = true
		return f
	}
	f.xml = xml.NewDecoder(bytes.NewReader(raw))
	return f
}

// row returns the forms of the cells of a row, asked for in rising order.
func (f *cellForms) row(n int) []cellForm {
	for f.at < n && !f.done {
		f.read()
	}
	if f.at == n {
		return f.forms
	}
	return nil
}

// read goes to the next row.
func (f *cellForms) read() {
	before := f.at
	f.forms = f.forms[:0]
	inRow := false
	for {
		t, err := f.xml.Token()
		if err != nil {
			f.done = true
			return
		}
		switch e := t.(type) {
		case xml.StartElement:
			switch e.Name.Local {
			case "row":
				inRow = true
				if f.at = attrInt(e, "r"); f.at == 0 {
					f.at = before + 1
				}
			case "c":
				if inRow {
					f.cell(e)
				}
			}
		case xml.EndElement:
			if e.Name.Local == "row" {
				return
			}
		}
	}
}

func (f *cellForms) cell(e xml.StartElement) {
	col := len(f.forms)
	kind := ""
	for _, a := range e.Attr {
		switch a.Name.Local {
		case "r":
			if c, _, err := excelize.CellNameToCoordinates(a.Value); err == nil {
				col = c - 1
			}
		case "t":
			kind = a.Value
		}
	}
	for len(f.forms) <= col {
		f.forms = append(f.forms, asStored)
	}
	switch kind {
	case "", "n":
		f.forms[col] = f.style(attrInt(e, "s"))
	case "e":
		f.forms[col] = asError
	}
}

func (f *cellForms) style(id int) cellForm {
	if form, ok := f.styles[id]; ok {
		return form
	}
	form := asStored
	if s, err := f.book.GetStyle(id); err == nil && s != nil {
		code := ""
		if s.CustomNumFmt != nil {
			code = *s.CustomNumFmt
		}
		form = formOf(s.NumFmt, code)
	}
	f.styles[id] = form
	return form
}

func attrInt(e xml.StartElement, name string) int {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			n, err := strconv.Atoi(a.Value)
			if err != nil {
				return 0
			}
			return n
		}
	}
	return 0
}

// sheetPart is the name of the package part that holds a sheet, found as ECMA-376 part 2 has it: the package's
// relationships name the workbook, whose relationships name the sheets.
func sheetPart(book *excelize.File, sheet string) string {
	workbook := "xl/workbook.xml"
	for _, r := range relationships(book, "_rels/.rels") {
		if strings.HasSuffix(r.Type, "/officeDocument") {
			workbook = strings.TrimPrefix(r.Target, "/")
		}
	}
	var w struct {
		Sheets []struct {
			Name  string     `xml:"name,attr"`
			Attrs []xml.Attr `xml:",any,attr"`
		} `xml:"sheets>sheet"`
	}
	if !loadXML(book, workbook, &w) {
		return ""
	}
	folder := path.Dir(workbook)
	for _, s := range w.Sheets {
		if s.Name != sheet {
			continue
		}
		for _, a := range s.Attrs {
			if a.Name.Local != "id" {
				continue
			}
			for _, r := range relationships(book, path.Join(folder, "_rels", path.Base(workbook)+".rels")) {
				if r.ID == a.Value {
					if strings.HasPrefix(r.Target, "/") {
						return r.Target[1:]
					}
					return path.Join(folder, r.Target)
				}
			}
		}
	}
	return ""
}

type relationship struct {
	ID     string `xml:"Id,attr"`
	Type   string `xml:"Type,attr"`
	Target string `xml:"Target,attr"`
}

func relationships(book *excelize.File, part string) []relationship {
	var all struct {
		Relationship []relationship
	}
	loadXML(book, part, &all)
	return all.Relationship
}

func loadXML(book *excelize.File, part string, into any) bool {
	v, _ := book.Pkg.Load(part)
	raw, ok := v.([]byte)
	return ok && xml.Unmarshal(raw, into) == nil
}
