package columns

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"sort"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"faultgrain/ingest/cells"
	"faultgrain/ingest/lexicon"
	"faultgrain/ingest/logfile"
	"faultgrain/schemas"
)

// sampleRows is how many rows Draft looks at.
const sampleRows = 20000

// Draft reads a sample of a log and writes a columns.toml that works as it stands: every column with
// a few of its values, its meaning and, where a person should look, a line marked DOUBT; what the
// report will lack; and words the log uses for outcomes and grades that nothing reads yet. Customer
// data, serial numbers and texts that stand in fewer than three rows are described, never shown.
func Draft(ctx context.Context, w io.Writer, f *logfile.File) error {
	d, err := newDraft(f.Header)
	if err != nil {
		return fmt.Errorf("%s: %w", f.Name, err)
	}
	enough := errors.New("enough")
	err = f.Chunks(ctx, 1, func(_ int, c *logfile.Chunk) error {
		for row := range c.Rows() {
			if d.rows >= sampleRows {
				return enough
			}
			line := c.Line(row)
			d.add(func(col int) []byte { return c.Cell(row, col) }, line)
		}
		return nil
	})
	if err != nil && !errors.Is(err, enough) {
		return err
	}
	d.whole = err == nil
	read := strings.ToUpper(f.Format)
	if f.Encoding != "" {
		read += ", " + f.Encoding
	}
	if f.Delimiter != "" {
		read += fmt.Sprintf(", delimiter %q", f.Delimiter)
	}
	return d.write(w, f.Name, read)
}

// draft gathers what there is to say about a log.
type draft struct {
	m     Map
	eye   eye
	p     []*profile
	rows  int
	whole bool // the sample is the whole file
}

// builtinReader reads components, so that columns that name them can be told.
var builtinReader = sync.OnceValues(func() (*lexicon.Reader, error) {
	lex, err := schemas.BuiltinLexicon()
	if err != nil {
		return nil, err
	}
	return lexicon.New(lex)
})

func newDraft(header []string) (*draft, error) {
	m, err := Recognise(header, nil)
	var missing *MissingColumns
	if err != nil && !errors.Is(err, ErrNoLog) && !errors.As(err, &missing) {
		return nil, err
	}
	reader, err := builtinReader()
	if err != nil {
		return nil, err
	}
	d := &draft{m: m, eye: eye{words: m.Words, parts: reader}, p: make([]*profile, len(header))}
	for i := range d.p {
		d.p[i] = &profile{}
	}
	return d, nil
}

func (d *draft) add(cell func(col int) []byte, line int64) {
	d.rows++
	for i, p := range d.p {
		p.add(&d.eye, cell(i), line)
	}
}

func (d *draft) write(w io.Writer, name, read string) error {
	guesses := guessAll(&d.m, d.p)
	out := bufio.NewWriter(w)
	looked := fmt.Sprintf("%d rows looked at", d.rows)
	if !d.whole {
		looked = fmt.Sprintf("the first %d rows looked at", d.rows)
	}
	comment(out, fmt.Sprintf("What the columns of %s mean. Drafted by faultgrain columns.", name))
	comment(out, fmt.Sprintf("Read as %s; %d columns, %s.", read, len(d.p), looked))
	doubts := 0
	for _, g := range guesses {
		if g.doubt != "" {
			doubts++
		}
	}
	if doubts > 0 {
		comment(out, fmt.Sprintf("%d lines are marked DOUBT: put right what is wrong.", doubts))
	}
	comment(out, "Then: faultgrain run "+name+" --columns columns.toml")
	fmt.Fprintln(out)
	d.writing(out, guesses)
	d.columns(out, guesses)
	d.lacking(out, guesses)
	d.words(out, guesses)
	return out.Flush()
}

// writing says how dates and numbers are written.
func (d *draft) writing(out io.Writer, guesses []guess) {
	var dates cells.OrderVote
	var marks cells.MarkVote
	rows := cells.Unsettled
	for i, g := range guesses {
		if g.meaning.Date() {
			dates.Merge(&d.p[i].dates)
			if o := d.p[i].rowOrder(); o != cells.Unsettled && rows == cells.Unsettled {
				rows = o
			}
		}
		if g.meaning.Number() {
			marks.Merge(&d.p[i].marks)
		}
	}
	mark, open := marks.Settle()
	settled, err := dates.Settle()
	var amb *cells.AmbiguousDates
	switch {
	case err == nil && settled.Order != cells.Unsettled:
		fmt.Fprintf(out, "dates = %q\n", settled.Order.String())
	case errors.As(err, &amb):
		comment(out, "DOUBT: "+amb.Error()+".")
		switch {
		case rows != cells.Unsettled:
			comment(out, fmt.Sprintf("Guessed %s, for read so the rows stand in order of their dates.", rows))
			fmt.Fprintf(out, "dates = %q\n", rows.String())
		case mark == cells.Comma:
			comment(out, "Guessed day-first, for the numbers have decimal commas.")
			fmt.Fprintf(out, "dates = %q\n", cells.DayFirst.String())
		default:
			comment(out, "Take the # off the line that is right; nothing is read before.")
			fmt.Fprintf(out, "# dates = %q\n# dates = %q\n", cells.DayFirst.String(), cells.MonthFirst.String())
		}
	}
	switch {
	case mark != 0:
		fmt.Fprintf(out, "decimal = %q\n", string(rune(mark)))
	case open > 0:
		comment(out, fmt.Sprintf("DOUBT: %d numbers such as 1.234 could be thousands or decimals: take the # off the line that is right; they stay empty before.", open))
		fmt.Fprintf(out, "# decimal = \".\"\n# decimal = \",\"\n")
	}
	fmt.Fprintln(out)
}

// columns writes [columns], a comment with samples over each line, and units the headers name.
func (d *draft) columns(out io.Writer, guesses []guess) {
	comment(out, "Meanings: "+strings.Join(strings.Fields(names)[1:], ", ")+".")
	fmt.Fprintln(out, "[columns]")
	for i, g := range guesses {
		comment(out, d.sample(i, g.meaning))
		if g.doubt != "" {
			comment(out, "DOUBT: "+g.doubt+".")
		}
		key, ok := d.m.keyOf(i)
		if !ok {
			comment(out, fmt.Sprintf("column %d can't be named here: give it a header of its own.", i+1))
			continue
		}
		fmt.Fprintf(out, "%s = %q\n", tomlString(key), g.meaning.String())
	}
	fmt.Fprintln(out)
	d.perColumn(out, guesses)
}

// perColumn writes [unit_in] and [currency_in] for what headers tell and guesses took over.
func (d *draft) perColumn(out io.Writer, guesses []guess) {
	var units, money []string
	for i, g := range guesses {
		key, ok := d.m.keyOf(i)
		if !ok {
			continue
		}
		apart := takeApart(d.m.Header[i])
		if g.meaning == Minutes && timeUnit(apart.unit) == 60 {
			units = append(units, tomlString(key)+` = "hours"`)
		}
		if g.meaning.Money() && apart.currency != "" {
			money = append(money, fmt.Sprintf("%s = %q", tomlString(key), apart.currency))
		}
	}
	table(out, "unit_in", units)
	table(out, "currency_in", money)
}

func table(out io.Writer, name string, lines []string) {
	if len(lines) == 0 {
		return
	}
	fmt.Fprintf(out, "[%s]\n%s\n\n", name, strings.Join(lines, "\n"))
}

// lacking says what the report will do without, and offers constants for what a whole log may share.
func (d *draft) lacking(out io.Writer, guesses []guess) {
	has := func(m Meaning) bool {
		for _, g := range guesses {
			if g.meaning == m {
				return true
			}
		}
		return false
	}
	list := lacks(has)
	if len(list) > 0 {
		comment(out, "Without these columns the report will lack:")
		for _, l := range list {
			hanging(out, fmt.Sprintf("  %-9s  ", l.meaning), l.what)
		}
		if has(Ticket) && !has(Opened) {
			comment(out, "This looks like a file that belongs to another: give both to one faultgrain run, and their rows join by ticket.")
		}
		fmt.Fprintln(out)
	}
	var offers []string
	for _, m := range []Meaning{Class, Maker, Currency, Shop} {
		if !has(m) {
			offers = append(offers, m.String())
		}
	}
	if len(offers) > 0 {
		comment(out, "What all rows share, when no column tells it:")
		fmt.Fprintln(out, "[constants]")
		for _, o := range offers {
			fmt.Fprintf(out, "# %s = %q\n", o, map[string]string{"class": "phone", "maker": "the maker's name", "currency": "EUR", "shop": "the shop's name"}[o])
		}
		fmt.Fprintln(out)
	}
}

// words lists the log's words for outcomes and grades that nothing reads, most frequent first.
func (d *draft) words(out io.Writer, guesses []guess) {
	for _, t := range []struct {
		meaning Meaning
		table   string
		valid   []string
		reads   func([]byte) (string, bool)
	}{
		{Outcome, "outcomes", outcomeWords, d.m.Words.Outcome},
		{Grade, "grades", gradeWords, d.m.Words.Grade},
	} {
		for i, g := range guesses {
			if g.meaning != t.meaning {
				continue
			}
			var unread []string
			for v, n := range d.p[i].values {
				if _, ok := t.reads([]byte(v)); !ok && n >= shownFrom && len(v) <= 60 && !personal(v) {
					unread = append(unread, v)
				}
			}
			if len(unread) == 0 {
				continue
			}
			sort.Slice(unread, func(a, b int) bool {
				if x, y := d.p[i].values[unread[a]], d.p[i].values[unread[b]]; x != y {
					return x > y
				}
				return unread[a] < unread[b]
			})
			comment(out, fmt.Sprintf("DOUBT: nothing reads these words of %q: take the # off and choose of %s.", d.m.Header[i], strings.Join(t.valid, ", ")))
			fmt.Fprintf(out, "[%s]\n", t.table)
			for _, v := range unread[:min(len(unread), 40)] {
				fmt.Fprintf(out, "# %s = %q # %d rows\n", tomlString(v), t.valid[0], d.p[i].values[v])
			}
			fmt.Fprintln(out)
		}
	}
}

// shownFrom is how many rows must share a text before it is shown: what three rows share is no
// customer's own.
const shownFrom = 3

// sample describes a column's cells.
func (d *draft) sample(i int, m Meaning) string {
	p := d.p[i]
	head := fmt.Sprintf("column %d: ", i+1)
	if p.filled == 0 {
		return head + "empty in every row"
	}
	filled := ""
	if p.filled < p.rows {
		filled = fmt.Sprintf(" (%.0f%% filled)", 100*float64(p.filled)/float64(p.rows))
	}
	switch m {
	case Personal, Serial, Technician:
		return head + "hidden, for it is personal" + filled
	}
	rare := m == Unknown || m == Ignore || m == Fault || m == Found || m == Notes || m == Part || m == Outcome || m == Shop || m == Supplier
	if (m == Unknown || m == Ignore) && (p.overflow || len(p.values) > maxSamples) {
		return head + "hidden, for it may be personal" + filled
	}
	var shown []string
	for _, v := range p.first {
		if len(shown) == 3 {
			break
		}
		if rare && (p.values[v] < shownFrom || personLike(strings.Fields(v))) || personal(v) {
			continue
		}
		shown = append(shown, tomlString(clip(v, 40)))
	}
	if len(shown) == 0 {
		return head + fmt.Sprintf("texts of about %.0f words, hidden%s", max(1, p.wordiness()), filled)
	}
	return head + "such as " + strings.Join(shown, ", ") + filled
}

// personal tells a text that holds a mail address, a phone number or a long run of digits.
func personal(s string) bool {
	if strings.ContainsRune(s, '@') || phoneNumber(s) {
		return true
	}
	run := 0
	for _, r := range s {
		if unicode.IsDigit(r) {
			run++
		} else if r != ' ' && r != '-' && r != '/' {
			run = 0
		}
		if run >= 9 && !dateLike(s) {
			return true
		}
	}
	return false
}

func dateLike(s string) bool {
	for _, o := range []cells.Order{cells.Unsettled, cells.DayFirst, cells.MonthFirst} {
		if _, ok := (cells.Dates{Order: o}).Parse([]byte(s)); ok {
			return true
		}
	}
	return false
}

func clip(s string, n int) string {
	if utf8.RuneCountInString(s) <= n {
		return s
	}
	return string([]rune(s)[:n-1]) + "…"
}

// keyOf gives a key of columns.toml that names the column and no other.
func (m *Map) keyOf(i int) (string, bool) {
	nth := 0
	for j := 0; j <= i; j++ {
		if m.Header[j] == m.Header[i] {
			nth++
		}
	}
	for _, key := range []string{m.Header[i], fmt.Sprintf("%s#%d", m.Header[i], nth), fmt.Sprintf("#%d", i+1)} {
		if utf8.ValidString(key) && strings.TrimSpace(key) != "" && m.column(key) == i {
			return key, true
		}
	}
	return "", false
}

// comment writes lines that TOML passes over, whatever the text holds, broken at 100 columns.
func comment(out io.Writer, text string) { hanging(out, "", text) }

// hanging is comment with a word in front, the lines behind it set in.
func hanging(out io.Writer, front, text string) {
	clean := func(s string) string {
		return strings.Map(func(r rune) rune {
			if unicode.IsControl(r) || r == utf8.RuneError || r == '\u2028' || r == '\u2029' {
				return ' '
			}
			return r
		}, s)
	}
	width := 98 - utf8.RuneCountInString(front)
	left := clean(front)
	rest := []rune(strings.TrimSpace(clean(text)))
	for {
		cut := len(rest)
		if cut > width {
			for cut = width; cut > 0 && rest[cut] != ' '; cut-- {
			}
			if cut == 0 {
				cut = width
			}
		}
		fmt.Fprintf(out, "# %s\n", strings.TrimRight(left+string(rest[:cut]), " "))
		if rest = []rune(strings.TrimLeft(string(rest[cut:]), " ")); len(rest) == 0 {
			return
		}
		left = strings.Repeat(" ", utf8.RuneCountInString(front))
	}
}

// tomlString quotes a text as a TOML basic string.
func tomlString(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == utf8.RuneError:
			b.WriteRune('\uFFFD')
		case unicode.IsControl(r) || r == '\u2028' || r == '\u2029' || r == '\uFEFF':
			fmt.Fprintf(&b, "\\u%04X", r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
