package columns

import (
	"bufio"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"sort"
	"strings"
	"sync"

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
	if len(f.Sheets) > 0 {
		read += ", sheet " + strings.Join(f.Sheets, ", ")
	}
	return d.write(w, filepath.Base(f.Path), read)
}

// Table picks the log of a workbook that a person will ask about: of sheets with different columns the first that
// holds whole tickets, else the first that is a log.
func Table(f *logfile.File) *logfile.File {
	var log *logfile.File
	for _, t := range append([]*logfile.File{f}, f.Further...) {
		m, err := Recognise(t.Header, nil)
		if err == nil && m.Complete() {
			return t
		}
		if err == nil && log == nil {
			log = t
		}
	}
	return cmp.Or(log, f)
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
	looked := count(d.rows, "row") + " looked at"
	if !d.whole {
		looked = "the first " + looked
	}
	comment(out, fmt.Sprintf("What the columns of %s mean. Drafted by faultgrain columns.", name))
	comment(out, fmt.Sprintf("Read as %s; %s, %s.", read, count(len(d.p), "column"), looked))
	doubts := 0
	for _, g := range guesses {
		if g.doubt != "" {
			doubts++
		}
	}
	if doubts > 0 {
		comment(out, fmt.Sprintf("Marked DOUBT: %s. Put right what is wrong.", count(doubts, "column")))
	}
	if !named(guesses, Ticket) && !named(guesses, Opened) && !named(guesses, Model) {
		comment(out, "DOUBT: no column looks like a ticket, a date or a model: is this a repair log?")
	}
	comment(out, "Then: faultgrain run "+name+" --columns columns.toml")
	fmt.Fprintln(out)
	d.writing(out, guesses)
	d.columns(out, guesses)
	d.lacking(out, guesses)
	d.words(out, guesses)
	return out.Flush()
}

// named tells whether some column has the meaning.
func named(guesses []guess, m Meaning) bool {
	for _, g := range guesses {
		if g.meaning == m {
			return true
		}
	}
	return false
}

// count says "1 row", "20 rows".
func count(n int, of string) string {
	if n == 1 {
		return "1 " + of
	}
	return fmt.Sprintf("%d %ss", n, of)
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
		case strings.ContainsRune(amb.Value, '.') && amb.Other == "":
			comment(out, "Guessed day-first, for dates with points are hardly ever written month first.")
			fmt.Fprintf(out, "dates = %q\n", cells.DayFirst.String())
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
		comment(out, fmt.Sprintf("DOUBT: thousands or decimals? %s such as 1.234 could be either: take the # off the line that is right; they stay empty before.", count(int(open), "number")))
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
	has := func(m Meaning) bool { return named(guesses, m) }
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
				fmt.Fprintf(out, "# %s = %q # %s\n", tomlString(v), t.valid[0], count(d.p[i].values[v], "row"))
			}
			fmt.Fprintln(out)
		}
	}
}
