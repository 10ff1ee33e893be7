package columns

import (
	"fmt"
	"sort"
	"strconv"
	"strings"
	"unicode/utf8"

	"faultgrain/ingest/cells"
)

// column finds the column a key of columns.toml names: "#7" by place, "Note#2" the second called
// Note, else by header, exactly or by its letters and digits. -1 when the file has none.
func (m *Map) column(key string) int {
	for i, h := range m.Header {
		if h == key {
			return i
		}
	}
	name, nth := key, 1
	if at := strings.LastIndexByte(key, '#'); at >= 0 {
		if n, err := strconv.Atoi(key[at+1:]); err == nil && n > 0 {
			if strings.TrimSpace(key[:at]) == "" {
				if n <= len(m.Header) {
					return n - 1
				}
				return -1
			}
			name, nth = key[:at], n
		}
	}
	want := cells.Key(name)
	seen := 0
	for i, h := range m.Header {
		if h == name || want != "" && cells.Key(h) == want {
			if seen++; seen == nth {
				return i
			}
		}
	}
	return -1
}

// told applies [columns] and [constants].
func (m *Map) told(c *Config) error {
	for _, key := range sortedKeys(c.Columns) {
		meaning, _ := ParseMeaning(c.Columns[key])
		i := m.column(key)
		if i < 0 {
			m.Unused = append(m.Unused, key)
			continue
		}
		if other := m.Col(meaning); other >= 0 && other != i && !meaning.many() {
			return fmt.Errorf("columns.toml: %q and %q are both %q: a log has one column of that meaning; make one of them %q",
				m.Header[other], m.Header[i], meaning, Ignore)
		}
		m.Of[i], m.rank[i] = meaning, rankTold
	}
	for key, value := range c.Constants {
		if meaning, ok := ParseMeaning(key); ok {
			m.Constant[meaning] = strings.TrimSpace(value)
		}
	}
	return nil
}

// write applies dates, decimal, units and currencies.
func (c *Config) write(m *Map) {
	m.Order, _ = cells.ParseOrder(c.Dates)
	mark, _ := cells.ParseMark(c.Decimal)
	for i := range m.Marks {
		m.Marks[i] = mark
	}
	for key, v := range c.DatesIn {
		if i := m.column(key); i >= 0 {
			m.Orders[i], _ = cells.ParseOrder(v)
		}
	}
	for key, v := range c.DecimalIn {
		if i := m.column(key); i >= 0 {
			m.Marks[i], _ = cells.ParseMark(v)
		}
	}
	for key, v := range c.UnitIn {
		if i := m.column(key); i >= 0 {
			m.PerUnit[i], _ = cells.UnitMinutes(v)
		}
	}
	for key, v := range c.CurrencyIn {
		if i := m.column(key); i >= 0 {
			m.Currency[i] = cells.Currency(v, "")
		}
	}
}

func sortedKeys(m map[string]string) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
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
