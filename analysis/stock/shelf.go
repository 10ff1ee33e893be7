package stock

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"faultgrain/schemas"
)

const (
	defaultLead = 7 // days; common practice, no source
	mostPieces  = 1_000_000
	mostDays    = 730
)

// columns of stock.csv; the first two and on_hand are needed, the rest have a stated default.
var columns = []string{"part", "component", "fits", "on_hand", "on_order", "lead_days", "unit_cost", "pack", "supplier",
	"min_order", "review_days", "margin", "price", "currency", "lot"}

// An Item is one part of stock.csv, its lots put together.
type Item struct {
	Part, Component, Supplier, Currency string

	Fits            []string // models, as the log spells them; none means every model
	OnHand, OnOrder int
	LeadDays        int
	LeadTold        bool
	ReviewDays      int // 0: not told
	Pack, MinOrder  int
	UnitCost        schemas.Float
	Margin          schemas.Float // what one piece short costs
	line            int
	lots            map[string]int // pieces on the shelf by lot, "" where none is told
}

// A Shelf is stock.csv.
type Shelf struct {
	Items []Item // in the order of the file
	Notes []schemas.QualityRow
	name  string
	lots  map[string]float64
}

// OnLot is how many pieces of a lot are on the shelf; not ok where no line of stock.csv tells that lot.
func (s *Shelf) OnLot(lot string) (pieces float64, ok bool) {
	pieces, ok = s.lots[lot]
	return pieces, ok
}

// Known is what the log and the lexicon know, to read stock.csv against.
type Known struct {
	Components []string          // lexicon ids that can be bought: causes left out
	Names      map[string]string // component by the name a person reads
	Models     []string          // models of the log
	Parts      map[string]string // component by part number of the log; "" where its lines name none or several
	Currency   string            // of money cells that name none
}

// Load reads stock.csv: a header and a line per part, or per part and lot. Columns are found by name, separated by
// comma, semicolon or tab. An unknown component or column, a count below 0 or a cell that can't be read is an error
// with its line; what is left empty gets the default that a note tells.
func Load(path string, known Known) (*Shelf, error) {
	raw, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("stock: %w", err)
	}
	return readShelf(raw, path, known)
}

func readShelf(raw []byte, name string, known Known) (*Shelf, error) {
	raw = bytes.TrimPrefix(raw, []byte("\ufeff"))
	in := csv.NewReader(bytes.NewReader(raw))
	in.Comma, in.TrimLeadingSpace = separator(raw), true
	header, err := in.Read()
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("%s: empty file, want the columns part, component, fits, on_hand", name)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	at, err := places(header, name)
	if err != nil {
		return nil, err
	}
	r := reader{name: name, known: known, shelf: &Shelf{name: name, lots: map[string]float64{}}, seen: map[string]int{}, models: map[string]string{}}
	for _, m := range known.Models {
		r.models[plain(m)] = m
	}
	for {
		cells, err := in.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		line, _ := in.FieldPos(0)
		if err := r.take(row{at: at, cells: cells, line: line, name: name}); err != nil {
			return nil, err
		}
	}
	r.finish()
	return r.shelf, nil
}

// separator is the one of comma, semicolon and tab that the header has most of.
func separator(raw []byte) rune {
	head, _, _ := bytes.Cut(raw, []byte("\n"))
	best := ','
	for _, s := range ";\t" {
		if bytes.Count(head, []byte(string(s))) > bytes.Count(head, []byte(string(best))) {
			best = s
		}
	}
	return best
}

// places finds the columns by name.
func places(header []string, name string) (map[string]int, error) {
	at := map[string]int{}
	for i, h := range header {
		h = strings.ReplaceAll(strings.ToLower(strings.TrimSpace(h)), " ", "_")
		if !slices.Contains(columns, h) {
			hint := ""
			if near := schemas.Nearest(h, columns); near != "" {
				hint = fmt.Sprintf("; did you mean %q?", near)
			}
			return nil, fmt.Errorf("%s:1: unknown column %q%s", name, header[i], hint)
		}
		if _, twice := at[h]; twice {
			return nil, fmt.Errorf("%s:1: the column %q stands twice", name, h)
		}
		at[h] = i
	}
	for _, need := range []string{"part", "on_hand"} {
		if _, ok := at[need]; !ok {
			return nil, fmt.Errorf("%s:1: no column %q; want part, component, fits, on_hand, and as known on_order, lead_days, unit_cost, pack, supplier", name, need)
		}
	}
	return at, nil
}

// A row is one line of the file.
type row struct {
	at    map[string]int
	cells []string
	line  int
	name  string
}

func (r row) cell(column string) string {
	if i, ok := r.at[column]; ok {
		return strings.TrimSpace(r.cells[i])
	}
	return ""
}

func (r row) bad(column, want string) error {
	return fmt.Errorf("%s:%d: column %q: found %q, %s", r.name, r.line, column, r.cell(column), want)
}

// count reads a whole number from least to most; empty is not told.
func (r row) count(column string, least, most int, what string) (n int, told bool, err error) {
	text := r.cell(column)
	if text == "" {
		return 0, false, nil
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || v != math.Trunc(v) || !(v >= float64(least) && v <= float64(most)) {
		return 0, false, r.bad(column, fmt.Sprintf("want %s, a whole number of %d or more", what, least))
	}
	return int(v), true, nil
}

// money reads an amount of 0 or more, with a decimal point or comma.
func (r row) money(column string) (schemas.Float, error) {
	text := r.cell(column)
	if text == "" {
		return schemas.Float{}, nil
	}
	plainText := text
	if strings.Count(text, ",") == 1 && !strings.Contains(text, ".") {
		plainText = strings.Replace(text, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(plainText, 64)
	if err != nil || !(v >= 0 && v <= 1e9) {
		return schemas.Float{}, r.bad(column, "want money, a number of 0 or more without a currency sign")
	}
	return schemas.Known(v), nil
}

// reader puts the lines of a file together.
type reader struct {
	name   string
	known  Known
	shelf  *Shelf
	seen   map[string]int    // item by part
	models map[string]string // model by its plain form

	unseen []string
}

func (r *reader) take(l row) error {
	item, lot, err := r.parse(l)
	if err != nil {
		return err
	}
	if lot != "" {
		r.shelf.lots[lot] += float64(item.OnHand)
	}
	i, again := r.seen[plain(item.Part)]
	if !again {
		r.seen[plain(item.Part)] = len(r.shelf.Items)
		item.lots = map[string]int{lot: item.OnHand}
		r.shelf.Items = append(r.shelf.Items, item)
		return nil
	}
	first := &r.shelf.Items[i]
	_, told := first.lots[lot]
	switch {
	case told:
		return l.bad("part", fmt.Sprintf("which line %d has already; one line per part, or per part and lot", first.line))
	case item.Component != first.Component:
		return l.bad("component", fmt.Sprintf("but line %d says that %s is a %s", first.line, first.Part, first.Component))
	}
	first.lots[lot] = item.OnHand
	first.OnHand += item.OnHand
	first.OnOrder += item.OnOrder
	if !first.LeadTold && item.LeadTold { // what the first line left empty
		first.LeadDays, first.LeadTold = item.LeadDays, true
	}
	if !first.UnitCost.OK {
		first.UnitCost = item.UnitCost
	}
	if !first.Margin.OK {
		first.Margin = item.Margin
	}
	first.Supplier = cmp.Or(first.Supplier, item.Supplier)
	first.ReviewDays = cmp.Or(first.ReviewDays, item.ReviewDays)
	return nil
}

func (r *reader) parse(l row) (item Item, lot string, err error) {
	item = Item{Part: l.cell("part"), Supplier: l.cell("supplier"), Currency: cmp.Or(strings.ToUpper(l.cell("currency")), r.known.Currency), line: l.line}
	if item.Part == "" {
		return item, "", l.bad("part", "want the part's number or name")
	}
	item.Part = r.partNo(item.Part)
	if item.Component, err = r.component(l, item.Part); err != nil {
		return item, "", err
	}
	r.fits(l, &item)
	told := false
	if item.OnHand, told, err = l.count("on_hand", 0, mostPieces, "pieces on the shelf"); err != nil {
		return item, "", err
	}
	if !told {
		return item, "", l.bad("on_hand", "want pieces on the shelf, 0 or more")
	}
	for _, c := range []struct {
		column      string
		least, most int
		what        string
		into        *int
		told        *bool
	}{
		{"on_order", 0, mostPieces, "pieces on their way", &item.OnOrder, new(bool)},
		{"pack", 1, mostPieces, "pieces in a pack", &item.Pack, new(bool)},
		{"min_order", 0, mostPieces, "the least pieces the supplier takes an order for", &item.MinOrder, new(bool)},
		{"lead_days", 0, mostDays, "days from order to shelf", &item.LeadDays, &item.LeadTold},
		{"review_days", 1, mostDays, "days between orders", &item.ReviewDays, new(bool)},
	} {
		if *c.into, *c.told, err = l.count(c.column, c.least, c.most, c.what); err != nil {
			return item, "", err
		}
	}
	item.Pack = max(item.Pack, 1)
	if !item.LeadTold {
		item.LeadDays = defaultLead
	}
	if item.UnitCost, err = l.money("unit_cost"); err != nil {
		return item, "", err
	}
	if item.Margin, err = l.money("margin"); err != nil {
		return item, "", err
	}
	price, err := l.money("price")
	if err != nil {
		return item, "", err
	}
	if !item.Margin.OK && price.OK && item.UnitCost.OK && price.V > item.UnitCost.V {
		item.Margin = schemas.Known(price.V - item.UnitCost.V)
	}
	return item, l.cell("lot"), nil
}

// partNo is the part as the log spells it, where case and spacing alone tell them apart.
func (r *reader) partNo(part string) string {
	if _, ok := r.known.Parts[part]; ok {
		return part
	}
	var like []string
	for p := range r.known.Parts {
		if plain(p) == plain(part) {
			like = append(like, p)
		}
	}
	if len(like) == 0 {
		return part
	}
	return slices.Min(like)
}

func (r *reader) component(l row, part string) (string, error) {
	text := l.cell("component")
	if text == "" {
		if c := r.known.Parts[part]; c != "" {
			return c, nil
		}
		hint := ""
		if near := schemas.Nearest(part, sorted(r.known.Parts)); near != "" {
			hint = fmt.Sprintf("; did you mean the part %q?", near)
		}
		return "", l.bad("component", fmt.Sprintf("and no line of the log tells what the part %q is: want a component%s", part, hint))
	}
	id := strings.ReplaceAll(plain(text), " ", "-")
	if slices.Contains(r.known.Components, id) {
		return id, nil
	}
	if c, ok := r.known.Names[plain(text)]; ok {
		return c, nil
	}
	hint := ""
	if near := schemas.Nearest(id, r.known.Components); near != "" {
		hint = fmt.Sprintf("; did you mean %q?", near)
	}
	return "", l.bad("component", "want a component of the lexicon"+hint)
}

// fits reads the models. One that the log never saw may be new: its part is kept, and a note asks.
func (r *reader) fits(l row, item *Item) {
	for _, m := range strings.Split(l.cell("fits"), ";") {
		if m = strings.TrimSpace(m); m == "" || m == schemas.Any {
			continue
		}
		name, ok := r.models[plain(m)]
		if !ok {
			name = m
			hint := ""
			if near := schemas.Nearest(m, r.known.Models); near != "" {
				hint = fmt.Sprintf(" (near it: %s)", near)
			}
			r.unseen = append(r.unseen, fmt.Sprintf("%s for %s in line %d%s", m, item.Part, l.line, hint))
		}
		if !slices.Contains(item.Fits, name) {
			item.Fits = append(item.Fits, name)
		}
	}
	slices.Sort(item.Fits)
}

func (r *reader) finish() {
	var noLead []string
	for _, i := range r.shelf.Items {
		if !i.LeadTold {
			noLead = append(noLead, i.Part)
		}
	}
	if n := len(noLead); n > 0 {
		r.shelf.note("defaulted", "lead_days", n, fmt.Sprintf("parts without a lead time in stock.csv, ordered as if it were %d days: %s", defaultLead, some(noLead)))
	}
	if n := len(r.unseen); n > 0 {
		r.shelf.note("unseen", "fits", n, "models in stock.csv that no visit is of, taken as new: "+some(r.unseen))
	}
}

func (s *Shelf) note(topic, subject string, count int, text string) {
	s.Notes = append(s.Notes, schemas.QualityRow{Topic: topic, Subject: subject, Count: count, Note: text})
}

// some names the first few.
func some(list []string) string {
	const few = 5
	if len(list) <= few {
		return strings.Join(list, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(list[:few], ", "), len(list)-few)
}

func sorted(m map[string]string) []string {
	list := make([]string, 0, len(m))
	for k := range m {
		list = append(list, k)
	}
	slices.Sort(list)
	return list
}

// plain is a text without case, and with spaces, hyphens and underscores as one space.
func plain(s string) string {
	return strings.ToLower(strings.Join(strings.FieldsFunc(s, func(r rune) bool { return unicode.IsSpace(r) || r == '-' || r == '_' }), " "))
}
