package logfile

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// The same text in every encoding it can stand in; x/text writes it, and the encoding must be found again by the bytes alone.
func TestEncodingsAreFound(t *testing.T) {
	utf16 := func(e unicode.Endianness, bom unicode.BOMPolicy) encoding.Encoding { return unicode.UTF16(e, bom) }
	for name, c := range map[string]struct {
		text string
		in   encoding.Encoding
		want string
	}{
		"plain":                       {"battery", encoding.Nop, UTF8},
		"UTF-8":                       {"Gehäuse, écran, œil, 40 €", encoding.Nop, UTF8},
		"UTF-8 with mark":             {"\ufeffGehäuse", encoding.Nop, UTF8},
		"UTF-16, little, mark":        {"Gehäuse 40 €", utf16(unicode.LittleEndian, unicode.UseBOM), UTF16LE},
		"UTF-16, big, mark":           {"Gehäuse 40 €", utf16(unicode.BigEndian, unicode.UseBOM), UTF16BE},
		"UTF-16, little":              {"Gehäuse 40 €", utf16(unicode.LittleEndian, unicode.IgnoreBOM), UTF16LE},
		"UTF-16, big":                 {"Gehäuse 40 €", utf16(unicode.BigEndian, unicode.IgnoreBOM), UTF16BE},
		"Windows-1252, German":        {"Gehäuse", charmap.Windows1252, Windows1252},
		"Windows-1252, euro":          {"40 €", charmap.Windows1252, Windows1252},
		"Windows-1252, quotes":        {"“écran” – cassé", charmap.Windows1252, Windows1252},
		"Windows-1252, half":          {"1½ Stunden für 2 ½", charmap.Windows1252, Windows1252},
		"Windows-1252, French":        {"cœur, éteint", charmap.Windows1252, Windows1252},
		"ISO-8859-1":                  {"Gehäuse, écran, año", charmap.ISO8859_1, Windows1252},
		"ISO-8859-15, euro":           {"Gehäuse 40 €", charmap.ISO8859_15, Latin9},
		"ISO-8859-15, oe and no euro": {"cœur, éteint", charmap.ISO8859_15, Latin9},
	} {
		log := "ticket,note\n1," + c.text + "\n2,x\n3,y\n"
		if strings.Contains(c.text, ",") {
			log = strings.ReplaceAll(log, "1,"+c.text, "1,\""+c.text+"\"")
		}
		if mark, ok := strings.CutPrefix(c.text, "\ufeff"); ok {
			log = "\ufeffticket,note\n1," + mark + "\n2,x\n3,y\n"
		}
		raw, err := c.in.NewEncoder().Bytes([]byte(log))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		header, rows, f := table(t, write(t, "log.csv", raw), Options{})
		if f.Encoding != c.want || header != "ticket|note" || rows[0] != "2|1|"+strings.TrimPrefix(c.text, "\ufeff") {
			t.Errorf("%s: got %s, %q, %q", name, f.Encoding, header, rows)
		}
		for _, named := range []string{c.want, strings.ToUpper(c.want)} {
			if _, again, _ := table(t, write(t, "log.csv", raw), Options{Encoding: named}); again[0] != rows[0] {
				t.Errorf("%s: named %s, got %q", name, named, again[0])
			}
		}
	}
	if _, err := Open(t.Context(), write(t, "log.csv", []byte("a,b\n1,2\n")), Options{Encoding: "klingon"}); err == nil || !strings.Contains(err.Error(), "windows-1252") {
		t.Errorf("unknown encoding: got %v", err)
	}
}

// Whatever the bytes, an encoding is found or the file is refused, and what is read by it is valid UTF-8, but for what
// stands behind a byte order mark and is none.
func FuzzEncoding(f *testing.F) {
	for _, s := range []string{"", "a", "\xff\xfea\x00", "\xfe\xff\x00a", "\xef\xbb\xbf", "caf\xe9", "40 \x80", "40 \xa4", "c\xbdur", "a\x00b\x00c\x00\r", "\xe2\x82", "\xef\xbb\xbf\xd1"} {
		f.Add([]byte(s), true)
		f.Add([]byte(s), false)
	}
	f.Fuzz(func(t *testing.T, raw []byte, whole bool) {
		name, err := sniffEncoding(raw, whole, "")
		if errors.Is(err, errNotText) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		text, err := decodeSample(name, raw)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		marked := bytes.HasPrefix(raw, bomUTF8) // the mark decides, whatever stands behind it
		if whole && !marked && !utf8.Valid(text) {
			t.Fatalf("%s: %q is read as %q", name, raw, text)
		}
		if name == UTF8 && whole && !bytes.Equal(text, bytes.TrimPrefix(raw, bomUTF8)) {
			t.Fatalf("UTF-8 was changed: %q, %q", raw, text)
		}
		if again, err := sniffEncoding(raw, whole, name); err != nil || again != name {
			t.Fatalf("named %s: %s, %v", name, again, err)
		}
	})
}
