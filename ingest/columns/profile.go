package columns

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"faultgrain/ingest/cells"
	"faultgrain/ingest/lexicon"
)

// profile is what a sample of one column's cells looks like. Counts are of cells that are not blank.
type profile struct {
	rows, filled int

	dates    cells.OrderVote
	marks    cells.MarkVote
	numbers  int
	money    int // amounts that name their currency
	ciphers  int // bare currency codes
	spans    int // durations that name a unit or have a colon
	weeks    int
	imeis    int
	serials  int // codes of letters and digits, five characters or more
	mails    int
	phones   int
	names    int // two or three capitalised words
	codes    int // one word with a digit in it
	things   int // up to five words with a letter and a digit in them, as models are named
	parts    int // cells a component is read from
	outcomes int
	grades   int
	classes  int
	words    int // words in all

	values   map[string]int // at most maxValues different cells
	overflow bool           // more than that
	runs     int            // times the cell above held the same
	first    []string       // the first different cells, in order
	last     string

	days      []dayRead // dates that read both ways, in order of the rows
	sum       int64     // of the days of dates that need no order: to compare columns
	plainDays int64
}

// dayRead is one date read both ways.
type dayRead struct{ day, month int32 }

const (
	maxValues  = 4000
	maxSamples = 12
)

// eye reads cells for profiles.
type eye struct {
	words *Words
	parts *lexicon.Reader
}

func (p *profile) add(e *eye, cell []byte, line int64) {
	p.rows++
	b := cells.Trim(cell)
	if cells.Blank(b) {
		return
	}
	p.filled++
	p.dates.Add(b, line)
	p.marks.Add(b)
	p.addDay(b)
	if _, ok := cells.Number(b, cells.Point); ok {
		p.numbers++
	} else if _, code, ok := cells.Money(b, cells.Point, ""); ok && code != "" {
		p.money++
	} else if _, ok := cells.Minutes(b, cells.Point, 1); ok {
		p.spans++
	}
	if cells.ISOCurrency(b) != "" || len(b) <= 4 && cells.Currency(string(b), "") != "" {
		p.ciphers++
	}
	if _, _, ok := cells.Week(b); ok && strings.ContainsAny(strings.ToLower(string(b)), "wku") {
		p.weeks++
	}
	s := string(b)
	p.look(e, s, b)
	p.tally(s)
}

// look counts what kind of text the cell is.
func (p *profile) look(e *eye, s string, b []byte) {
	if cells.IMEI(b) {
		p.imeis++
	}
	fields := strings.Fields(s)
	p.words += len(fields)
	if mailAddress(s) {
		p.mails++
	}
	if phoneNumber(s) {
		p.phones++
	}
	if len(fields) == 1 && len(s) <= 32 && strings.ContainsAny(s, "0123456789") {
		p.codes++
		if _, ok := cells.AppendSerial(nil, b); ok && len(s) >= 7 {
			p.serials++
		}
	}
	if len(fields) <= 5 && len(s) <= 48 && strings.ContainsAny(s, "0123456789") && strings.ContainsFunc(s, unicode.IsLetter) && !dateLike(s) {
		p.things++
	}
	if personLike(fields) {
		p.names++
	}
	if len(s) <= 400 && len(e.parts.Read(s, lexicon.Found).Components) > 0 {
		p.parts++
	}
	if _, ok := e.words.Outcome(b); ok {
		p.outcomes++
	}
	if g, ok := e.words.Grade(b); ok && g != "" {
		p.grades++
	}
	if _, ok := e.words.Class(b); ok {
		p.classes++
	}
}

// tally keeps how often each value stands.
func (p *profile) tally(s string) {
	if s == p.last {
		p.runs++
	}
	p.last = s
	if p.values == nil {
		p.values = map[string]int{}
	}
	if n, ok := p.values[s]; ok || len(p.values) < maxValues {
		if n == 0 && len(p.first) < maxSamples {
			p.first = append(p.first, s)
		}
		p.values[s] = n + 1
	} else {
		p.overflow = true
	}
}

// addDay keeps both readings of a date, so that the order of the rows may tell which is right.
func (p *profile) addDay(b []byte) {
	if m, ok := (cells.Dates{}).Parse(b); ok {
		p.sum += int64(m.Day)
		p.plainDays++
		return
	}
	day, ok1 := cells.Dates{Order: cells.DayFirst}.Parse(b)
	month, ok2 := cells.Dates{Order: cells.MonthFirst}.Parse(b)
	if ok1 && ok2 {
		p.days = append(p.days, dayRead{day.Day, month.Day})
	}
	if ok1 || ok2 {
		p.sum += int64(max(day.Day, month.Day))
		p.plainDays++
	}
}

// meanDay is the average date, for comparing columns; 0 without dates.
func (p *profile) meanDay() float64 {
	if p.plainDays == 0 {
		return 0
	}
	return float64(p.sum) / float64(p.plainDays)
}

// share is n of the filled cells, 0 to 1.
func (p *profile) share(n int) float64 {
	if p.filled == 0 {
		return 0
	}
	return float64(n) / float64(p.filled)
}

// dated is the share of cells that read as a date in some order, or as a count where the column counts.
func (p *profile) dated() float64 {
	n := p.dates.Dates()
	if p.dates.As(cells.DayFirst).Count == cells.ExcelDays {
		n = p.dates.Seen()
	}
	if p.filled == 0 {
		return 0
	}
	return float64(n) / float64(p.filled)
}

// distinct is the number of different values over the filled cells, 0 to 1; 1 when too many to count.
func (p *profile) distinct() float64 {
	if p.overflow {
		return 1
	}
	return p.share(len(p.values))
}

// wordiness is the average number of words in a filled cell.
func (p *profile) wordiness() float64 { return p.share(p.words) }

// rowOrder tells by the order of the rows which way dates read that the cells leave open: a log is
// written day by day, so read rightly its dates wander far less from row to row. Unsettled when
// neither reading is four times steadier.
func (p *profile) rowOrder() cells.Order {
	day, month := int64(0), int64(0)
	for i := 1; i < len(p.days); i++ {
		day += apart(p.days[i-1].day, p.days[i].day)
		month += apart(p.days[i-1].month, p.days[i].month)
	}
	switch {
	case len(p.days) < 10:
	case day*4 <= month:
		return cells.DayFirst
	case month*4 <= day:
		return cells.MonthFirst
	}
	return cells.Unsettled
}

// apart is the number of days between two dates.
func apart(a, b int32) int64 { return max(int64(a)-int64(b), int64(b)-int64(a)) }

func mailAddress(s string) bool {
	at := strings.IndexByte(s, '@')
	return at > 0 && strings.IndexByte(s[at:], '.') > 1 && !unicode.IsSpace(rune(s[at-1]))
}

// phoneNumber tells 6 to 15 digits with a plus, a leading zero, brackets or groups; dates, numbers and
// serials are none. Long digit runs in a text count too.
func phoneNumber(s string) bool {
	digits, groups, signs := 0, 0, 0
	prev := ' '
	for _, r := range s {
		switch {
		case r >= '0' && r <= '9':
			if digits++; prev < '0' || prev > '9' {
				groups++
			}
		case r == '+' || r == '(' || r == ')':
			signs++
		case r == ' ' || r == '-' || r == '/' || r == '.':
		default:
			return false
		}
		prev = r
	}
	if digits < 6 || digits > 15 {
		return false
	}
	if _, ok := (cells.Dates{Order: cells.DayFirst}).Parse([]byte(s)); ok {
		return false
	}
	if _, ok := (cells.Dates{Order: cells.MonthFirst}).Parse([]byte(s)); ok {
		return false
	}
	if _, ok := cells.Number([]byte(s), cells.Point); ok {
		return s[0] == '0' && digits >= 8 || s[0] == '+'
	}
	return signs > 0 || s[0] == '0' || groups >= 3
}

// personLike tells two or three words that all start with a capital and hold no digit.
func personLike(fields []string) bool {
	if len(fields) < 2 || len(fields) > 3 {
		return false
	}
	for _, f := range fields {
		r, n := utf8.DecodeRuneInString(f)
		if !unicode.IsUpper(r) || n == len(f) || strings.ContainsAny(f, "0123456789") {
			return false
		}
		if second, _ := utf8.DecodeRuneInString(f[n:]); !unicode.IsLower(second) && second != '.' && second != '\'' {
			return false
		}
	}
	return true
}
