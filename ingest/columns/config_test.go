package columns

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"faultgrain/ingest/cells"
)

func TestConfigSaysWhatIsWrong(t *testing.T) {
	tests := []struct {
		name, text string
		want       []string // parts of the message
	}{
		{"unknown key", "dates = \"day-first\"\ndelimeter = \";\"\n", []string{"columns.toml:2:", `unknown key "delimeter"`, `did you mean "delimiter"`}},
		{"wrong order", "\ndates = \"dayfirst\"\n", []string{"columns.toml:2:", `"dayfirst"`, `did you mean "day-first"`}},
		{"wrong meaning", "[columns]\n\"Datum\" = \"opened\"\n\"Gerät\" = \"modell\"\n", []string{"columns.toml:3:", `key "Gerät"`, `did you mean "model"`}},
		{"wrong outcome", "[outcomes]\nfertig = \"repared\"\n", []string{"columns.toml:2:", `did you mean "repaired"`}},
		{"wrong grade", "[grades]\nA = \"best\"\n", []string{"columns.toml:2:", "want one of original"}},
		{"wrong constant", "[constants]\nticket = \"1\"\n", []string{"columns.toml:2:", "no constant of that name"}},
		{"misspelt constant", "[constants]\nclas = \"phone\"\n", []string{"columns.toml:2:", `did you mean "class"`}},
		{"wrong unit", "[unit_in]\n\"Zeit\" = \"weeks\"\n", []string{"columns.toml:2:", "want one of minutes"}},
		{"wrong currency", "[currency_in]\nPreis = \"shells\"\n", []string{"columns.toml:2:"}},
		{"no TOML", "dates = \n", []string{"columns.toml:1:"}},
		{"all at once", "dates = \"x\"\n[grades]\nA = \"best\"\n", []string{"columns.toml:1:", "columns.toml:3:"}},
	}
	for _, tt := range tests {
		_, err := parseConfig("columns.toml", []byte(tt.text))
		if err == nil {
			t.Errorf("%s: accepted", tt.name)
			continue
		}
		for _, part := range tt.want {
			if !strings.Contains(err.Error(), part) {
				t.Errorf("%s: %q lacks %q", tt.name, err, part)
			}
		}
	}
}

func TestConfigComesFirst(t *testing.T) {
	path := filepath.Join(t.TempDir(), "columns.toml")
	text := `
dates = "month-first"
decimal = ","
[columns]
"Model" = "ignore"
"gerät" = "model"
"Note#2" = "fault"
"#6" = "ticket"
"Absent" = "lot"
[constants]
class = "drone"
[dates_in]
"Ende" = "day-first"
[unit_in]
"Zeit" = "hours"
[currency_in]
"Preis" = "€"
`
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	c, err := LoadConfig(path)
	if err != nil {
		t.Fatal(err)
	}
	m, err := Recognise([]string{"Model", "Gerät", "Note", "Note", "opened", "", "Zeit", "Preis", "Ende"}, c)
	if err != nil {
		t.Fatal(err)
	}
	want := []Meaning{Ignore, Model, Notes, Fault, Opened, Ticket, Minutes, Charge, Ready}
	for i, w := range want {
		if m.Of[i] != w {
			t.Errorf("column %d %q: %v, want %v", i, m.Header[i], m.Of[i], w)
		}
	}
	if m.Constant[Class] != "drone" || !m.Complete() {
		t.Errorf("constant %q, complete %v", m.Constant[Class], m.Complete())
	}
	if m.DateOrder(4) != cells.MonthFirst || m.DateOrder(8) != cells.DayFirst || m.Marks[7] != cells.Comma || m.PerUnit[6] != 60 || m.Currency[7] != "EUR" {
		t.Errorf("orders %v %v, marks %q, per unit %v, currency %q", m.DateOrder(4), m.DateOrder(8), m.Marks, m.PerUnit, m.Currency)
	}
	if len(m.Unused) != 1 || m.Unused[0] != "Absent" {
		t.Errorf("unused %q, want Absent", m.Unused)
	}
	if _, err := Recognise([]string{"a", "b"}, &Config{Columns: map[string]string{"a": "ticket", "b": "ticket"}}); err == nil || !strings.Contains(err.Error(), `"a" and "b"`) {
		t.Errorf("two ticket columns: %v", err)
	}
}

func TestNoConfigIsNone(t *testing.T) {
	if c, err := LoadConfig(""); err != nil || c == nil {
		t.Errorf("got %v, %v", c, err)
	}
	if _, err := LoadConfig(filepath.Join(t.TempDir(), "none.toml")); err == nil || !strings.Contains(err.Error(), "columns file") {
		t.Errorf("got %v", err)
	}
}

// The built-in lists load, name no meaning twice, and every word of an outcome reads as that outcome.
func TestBuiltinLists(t *testing.T) {
	table := headers()
	for _, m := range strings.Fields(names)[1:] {
		if m == Personal.String() || m == Ignore.String() {
			continue
		}
		found := false
		for _, c := range table.candidates(m) {
			found = found || c.meaning.String() == m
		}
		if !found {
			t.Errorf("the plain header %q is not recognised", m)
		}
	}
	for key, list := range table.sure {
		single := 0
		for _, c := range list {
			if c.meaning != Personal && c.meaning != Ignore {
				single++
			}
		}
		if single > 1 {
			t.Errorf("%q is sure to be %v", key, list)
		}
	}
	w := builtinWords()
	for _, o := range outcomeWords {
		if got, ok := w.Outcome([]byte(o)); !ok || got != o {
			t.Errorf("Outcome(%q) = %q", o, got)
		}
	}
}

func FuzzConfig(f *testing.F) {
	f.Add("dates = \"day-first\"\n[columns]\n\"a\" = \"ticket\"\n", "a")
	f.Add("[constants]\nclass = \"phone\"\n", "ticket")
	f.Add("[outcomes]\n\"x\" = \"open\"", "id")
	f.Fuzz(func(t *testing.T, text, header string) {
		c, err := parseConfig("columns.toml", []byte(text))
		if err != nil {
			if c != nil || err.Error() == "" {
				t.Fatalf("config %v beside error %v", c, err)
			}
			return
		}
		m, err := Recognise(strings.Split(header, "|"), c)
		if err == nil && !m.Has(Ticket) {
			t.Fatalf("accepted without a ticket: %q %q", text, header)
		}
	})
}
