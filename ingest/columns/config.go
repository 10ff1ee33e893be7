package columns

import (
	"errors"
	"fmt"
	"os"
	"sort"
	"strconv"
	"strings"

	"faultgrain/ingest/cells"
	"faultgrain/schemas"
)

// Config is columns.toml: what a person says about the columns of a log. Every key is optional.
//
//	dates = "day-first"        # or month-first, year-first: for all date columns
//	decimal = ","              # or ".": for all numbers
//	encoding = "windows-1252"  # delimiter = ";"  sheet = "2026": how the file is read
//
//	[columns]                  # header = meaning; "#7" is the seventh column, "Note#2" the second called Note
//	"Auftragsnr." = "ticket"
//
//	[constants]                # for what the whole log has in common
//	class = "phone"
//
//	[dates_in]                 # "Abholung" = "day-first", where one column differs
//	[decimal_in]               # "Preis" = ","
//	[unit_in]                  # "Arbeitszeit" = "hours"
//	[currency_in]              # "Preis" = "EUR"
//	[outcomes]                 # the log's words = repaired, no-fault, uneconomic, declined, returned-unrepaired, open
//	[grades]                   # = original, pulled, refurbished, aftermarket, unknown
//	[classes]                  # = phone, tablet, laptop, or any word
type Config struct {
	Dates      string            `toml:"dates"`
	Decimal    string            `toml:"decimal"`
	Encoding   string            `toml:"encoding"`
	Delimiter  string            `toml:"delimiter"`
	Sheet      string            `toml:"sheet"`
	Columns    map[string]string `toml:"columns"`
	Constants  map[string]string `toml:"constants"`
	DatesIn    map[string]string `toml:"dates_in"`
	DecimalIn  map[string]string `toml:"decimal_in"`
	UnitIn     map[string]string `toml:"unit_in"`
	CurrencyIn map[string]string `toml:"currency_in"`
	Outcomes   map[string]string `toml:"outcomes"`
	Grades     map[string]string `toml:"grades"`
	Classes    map[string]string `toml:"classes"`
}

// LoadConfig reads columns.toml; an empty path gives the empty config. Unknown keys and wrong values
// are errors with file, line and the nearest valid word.
func LoadConfig(path string) (*Config, error) {
	if path == "" {
		return &Config{}, nil
	}
	raw, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("columns file: %w", err)
	}
	return parseConfig(path, raw)
}

func parseConfig(name string, raw []byte) (*Config, error) {
	c := &Config{}
	if err := schemas.DecodeTOML(name, raw, c); err != nil {
		return nil, err
	}
	if err := c.check(name, string(raw)); err != nil {
		return nil, err
	}
	return c, nil
}

// check looks at every value; all that is wrong is told at once, in the order of the file.
func (c *Config) check(name, raw string) error {
	var wrong []located
	bad := func(table, key, found string, valid []string) {
		line := lineOf(raw, table, key)
		msg := fmt.Sprintf("%s:%d: key %q: found %q, want one of %s", name, line, key, found, strings.Join(valid, ", "))
		if near := schemas.Nearest(found, valid); near != "" {
			msg += fmt.Sprintf("; did you mean %q?", near)
		}
		wrong = append(wrong, located{line, errors.New(msg)})
	}
	orders := []string{"day-first", "month-first", "year-first", "auto"}
	marks := []string{".", ","}
	units := []string{"minutes", "hours", "seconds", "days"}
	if _, ok := cells.ParseOrder(c.Dates); !ok {
		bad("", "dates", c.Dates, orders)
	}
	if _, ok := cells.ParseMark(c.Decimal); !ok {
		bad("", "decimal", c.Decimal, marks)
	}
	each := func(table string, entries map[string]string, ok func(string) bool, valid []string) {
		for key, value := range entries {
			if !ok(value) {
				bad(table, key, value, valid)
			}
		}
	}
	each("dates_in", c.DatesIn, func(v string) bool { _, ok := cells.ParseOrder(v); return ok }, orders)
	each("decimal_in", c.DecimalIn, func(v string) bool { _, ok := cells.ParseMark(v); return ok }, marks)
	each("unit_in", c.UnitIn, func(v string) bool { _, ok := cells.UnitMinutes(v); return ok }, units)
	each("currency_in", c.CurrencyIn, func(v string) bool { return cells.Currency(v, "") != "" }, []string{"EUR", "USD", "GBP", "CHF", "DKK"})
	each("columns", c.Columns, func(v string) bool { _, ok := ParseMeaning(v); return ok }, strings.Fields(names)[1:])
	each("outcomes", c.Outcomes, func(v string) bool { return contains(outcomeWords, v) }, outcomeWords)
	each("grades", c.Grades, func(v string) bool { return contains(gradeWords, v) }, gradeWords)
	each("classes", c.Classes, func(v string) bool { return cells.Key(v) != "" }, []string{"phone", "tablet", "laptop"})
	for key, value := range c.Constants {
		m, ok := ParseMeaning(key)
		if !ok || !constant(m) {
			line := lineOf(raw, "constants", key)
			msg := fmt.Sprintf("%s:%d: key %q: no constant of that name, want one of %s", name, line, key, strings.Join(constants(), ", "))
			if near := schemas.Nearest(key, constants()); near != "" && near != key {
				msg += fmt.Sprintf("; did you mean %q?", near)
			}
			wrong = append(wrong, located{line, errors.New(msg)})
		} else if strings.TrimSpace(value) == "" {
			bad("constants", key, value, []string{"a value that holds for every row"})
		}
	}
	sort.SliceStable(wrong, func(i, j int) bool {
		if wrong[i].line != wrong[j].line {
			return wrong[i].line < wrong[j].line
		}
		return wrong[i].err.Error() < wrong[j].err.Error()
	})
	errs := make([]error, len(wrong))
	for i, w := range wrong {
		errs[i] = w.err
	}
	return errors.Join(errs...)
}

type located struct {
	line int
	err  error
}

// constant tells the meanings that may hold for a whole log.
func constant(m Meaning) bool {
	switch m {
	case Shop, Class, Maker, Family, Model, Currency, Supplier, Grade, Outcome:
		return true
	}
	return false
}

func constants() []string {
	var out []string
	for m := Ticket; m < meanings; m++ {
		if constant(m) {
			out = append(out, m.String())
		}
	}
	return out
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// lineOf finds the line of a key, for messages; 1 when the file spells it in a way it can't find.
func lineOf(raw, table, key string) int {
	in := ""
	for i, line := range strings.Split(raw, "\n") {
		line = strings.TrimSpace(line)
		if strings.HasPrefix(line, "[") {
			in = strings.Trim(line[:strings.IndexAny(line+"]", "]")], "[ ")
			continue
		}
		if in != table {
			continue
		}
		for _, spelled := range []string{key, strconv.Quote(key), "'" + key + "'"} {
			if rest, ok := strings.CutPrefix(line, spelled); ok && strings.HasPrefix(strings.TrimSpace(rest), "=") {
				return i + 1
			}
		}
	}
	return 1
}
