package logfile

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"sort"
	"strings"
	"sync"
	"testing"
	"unicode/utf16"

	"github.com/klauspost/compress/zstd"
	"golang.org/x/text/encoding/charmap"
	"pgregory.net/rapid"
)

type row struct {
	Line  int64
	Cells []string
	Raw   string
}

// readAll returns every row of a file in order.
func readAll(t testing.TB, f *File, workers int) []row {
	t.Helper()
	var mu sync.Mutex
	got := map[int][]row{}
	err := f.Chunks(context.Background(), workers, func(worker int, c *Chunk) error {
		if c.Seq%workers != worker {
			return fmt.Errorf("chunk %d came to worker %d of %d", c.Seq, worker, workers)
		}
		rows := make([]row, c.Rows())
		for r := range rows {
			rows[r] = row{Line: c.Line(r), Raw: string(c.Raw(r)), Cells: make([]string, c.Width(r))}
			for i := range rows[r].Cells {
				rows[r].Cells[i] = string(c.Cell(r, i))
			}
			if c.Cell(r, c.Width(r)) != nil || c.Cell(r, -1) != nil {
				return errors.New("a cell beside the record is not empty")
			}
		}
		mu.Lock()
		defer mu.Unlock()
		got[c.Seq] = rows
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	var all []row
	seqs := make([]int, 0, len(got))
	for s := range got {
		seqs = append(seqs, s)
	}
	sort.Ints(seqs)
	for _, s := range seqs {
		all = append(all, got[s]...)
	}
	return all
}

func write(t testing.TB, name string, content []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func open(t testing.TB, content []byte, opt Options) *File {
	t.Helper()
	f, err := Open(context.Background(), write(t, "log.csv", content), opt)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestDialects(t *testing.T) {
	want := [][]string{{"1", "2026-01-02", "Lark 7", "no sound, no picture"}, {"2", "2026-01-03", "Lark 8", "says \"hot\""}}
	for _, tc := range []struct{ name, text, delim string }{
		{"comma", "ticket,opened,model,fault\n1,2026-01-02,Lark 7,\"no sound, no picture\"\n2,2026-01-03,Lark 8,\"says \"\"hot\"\"\"\n", ","},
		{"no last line end", "ticket,opened,model,fault\n1,2026-01-02,Lark 7,\"no sound, no picture\"\n2,2026-01-03,Lark 8,\"says \"\"hot\"\"\"", ","},
		{"semicolon, windows line ends", "ticket;opened;model;fault\r\n1;2026-01-02;Lark 7;no sound, no picture\r\n2;2026-01-03;Lark 8;\"says \"\"hot\"\"\"\r\n", ";"},
		{"tab", "ticket\topened\tmodel\tfault\n1\t2026-01-02\tLark 7\tno sound, no picture\n2\t2026-01-03\tLark 8\tsays \"hot\"\n", "\t"},
		{"pipe", "ticket|opened|model|fault\n1|2026-01-02|Lark 7|no sound, no picture\n2|2026-01-03|Lark 8|says \"hot\"\n", "|"},
		{"old line ends", "ticket;opened;model;fault\r1;2026-01-02;Lark 7;no sound, no picture\r2;2026-01-03;Lark 8;says \"hot\"", ";"},
		{"spaces around quotes", "ticket, opened, model, fault\n1,2026-01-02,Lark 7, \"no sound, no picture\" \n2,2026-01-03,Lark 8,\"says \"hot\"\"\n", ","},
		{"blank lines", "\n\nticket,opened,model,fault\n\n1,2026-01-02,Lark 7,\"no sound, no picture\"\n\r\n,,,\n  ,\" \",\t,\n2,2026-01-03,Lark 8,says \"hot\"\n\n", ","},
		{"title above", "The shop on the corner,,,\n,,,\nticket,opened,model,fault\n1,2026-01-02,Lark 7,\"no sound, no picture\"\n2,2026-01-03,Lark 8,says \"hot\"\n", ","},
		{"separator line", "sep=;\nticket;opened;model;fault\n1;2026-01-02;Lark 7;no sound, no picture\n2;2026-01-03;Lark 8;says \"hot\"\n", ";"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			f := open(t, []byte(tc.text), Options{})
			if f.Delimiter != tc.delim {
				t.Errorf("delimiter %q, want %q", f.Delimiter, tc.delim)
			}
			if h := []string{"ticket", "opened", "model", "fault"}; !reflect.DeepEqual(f.Header, h) {
				t.Errorf("header %q, want %q", f.Header, h)
			}
			for _, size := range []int{0, 1, 7, 64} {
				f.chunkBytes = max(1, size)
				var got [][]string
				for _, r := range readAll(t, f, 2) {
					got = append(got, r.Cells)
					if text := strings.Split(strings.ReplaceAll(tc.text, "\r\n", "\n"), string(f.dialect.eol)); text[r.Line-1] != r.Raw {
						t.Errorf("line %d is %q, the row says %q", r.Line, text[r.Line-1], r.Raw)
					}
				}
				if !reflect.DeepEqual(got, want) {
					t.Errorf("chunks of %d: got %q, want %q", size, got, want)
				}
			}
		})
	}
}

// Delimiters that also stand in the cells must not mislead the choice.
func TestDecimalCommas(t *testing.T) {
	f := open(t, []byte("Auftrag;Preis;Netto\n1;1,50;1,26\n2;2,50;2,10\n3;9,00;7,56\n"), Options{})
	if f.Delimiter != ";" || len(f.Header) != 3 {
		t.Errorf("delimiter %q, header %q", f.Delimiter, f.Header)
	}
}

func TestQuotingAccidents(t *testing.T) {
	for _, tc := range []struct {
		name, body string
		want       [][]string
		lines      []int64
	}{
		{"inches at a cell's start", "1,\"7 inch screen,x\n2,\"good, really\",y\n3,plain,z\n",
			[][]string{{"1", "\"7 inch screen", "x"}, {"2", "good, really", "y"}, {"3", "plain", "z"}}, []int64{2, 3, 4}},
		{"inches within a cell", "1,7\" screen,x\n2,5\",y\n", [][]string{{"1", "7\" screen", "x"}, {"2", "5\"", "y"}}, []int64{2, 3}},
		{"never closed", "1,\"lost,x\n2,a,y\n3,b,z\n", [][]string{{"1", "\"lost", "x"}, {"2", "a", "y"}, {"3", "b", "z"}}, []int64{2, 3, 4}},
		{"line break in a cell", "1,\"one\ntwo\r\n,three\",x\n2,a,y\n", [][]string{{"1", "one\ntwo\r\n,three", "x"}, {"2", "a", "y"}}, []int64{2, 5}},
		{"line break in the last cell", "1,x,\"one\ntwo\"\n2,a,y\n", [][]string{{"1", "x", "one\ntwo"}, {"2", "a", "y"}}, []int64{2, 4}},
		{"only quotes", "1,\"\",\"\"\"\"\n2,\"\"\"a\"\"\",\n", [][]string{{"1", "", "\""}, {"2", "\"a\"", ""}}, []int64{2, 3}},
		{"ragged", "1,a\n2,b,c,d\n", [][]string{{"1", "a"}, {"2", "b", "c", "d"}}, []int64{2, 3}},
		{"text after a closing quote", "1,\"a\" b,x\n2,\"c\"d\",y\n", [][]string{{"1", "\"a\" b", "x"}, {"2", "c\"d", "y"}}, []int64{2, 3}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			f := open(t, []byte("ticket,fault,model\n"+tc.body), Options{Delimiter: ","})
			for _, size := range []int{1, 5, 1 << 20} {
				f.chunkBytes = size
				rows := readAll(t, f, 3)
				var got [][]string
				var lines []int64
				for _, r := range rows {
					got = append(got, r.Cells)
					lines = append(lines, r.Line)
				}
				if !reflect.DeepEqual(got, tc.want) || !reflect.DeepEqual(lines, tc.lines) {
					t.Errorf("chunks of %d: got %q at %v\nwant %q at %v", size, got, lines, tc.want, tc.lines)
				}
			}
		})
	}
}

func TestEncodings(t *testing.T) {
	const text = "ticket,modèle,défaut\n1,Lärk 7,écran cassé à 20 €\n2,Lark,ok\n"
	win, err := charmap.Windows1252.NewEncoder().String(text)
	if err != nil {
		t.Fatal(err)
	}
	latin9, err := charmap.ISO8859_15.NewEncoder().String(text)
	if err != nil {
		t.Fatal(err)
	}
	utf16of := func(bom bool, hi, lo int) []byte {
		var out []byte
		u := utf16.Encode([]rune(text))
		if bom {
			u = append([]uint16{0xfeff}, u...)
		}
		for _, x := range u {
			pair := [2]byte{}
			pair[hi], pair[lo] = byte(x>>8), byte(x)
			out = append(out, pair[:]...)
		}
		return out
	}
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	io.WriteString(z, text)
	z.Close()
	enc, err := zstd.NewWriter(nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, tc := range []struct {
		name, encoding string
		content        []byte
	}{
		{"utf-8", UTF8, []byte(text)},
		{"byte order mark", UTF8, append([]byte("\xef\xbb\xbf"), text...)},
		{"windows-1252", Windows1252, []byte(win)},
		{"iso-8859-15", Latin9, []byte(latin9)},
		{"utf-16le", UTF16LE, utf16of(true, 1, 0)},
		{"utf-16be", UTF16BE, utf16of(true, 0, 1)},
		{"utf-16le without mark", UTF16LE, utf16of(false, 1, 0)},
		{"utf-16be without mark", UTF16BE, utf16of(false, 0, 1)},
		{"gzip", UTF8, packed.Bytes()},
		{"zstd", UTF8, enc.EncodeAll([]byte(text), nil)},
	} {
		t.Run(tc.name, func(t *testing.T) {
			f := open(t, tc.content, Options{})
			if f.Encoding != tc.encoding {
				t.Errorf("encoding %q, want %q", f.Encoding, tc.encoding)
			}
			if want := []string{"ticket", "modèle", "défaut"}; !reflect.DeepEqual(f.Header, want) {
				t.Errorf("header %q, want %q", f.Header, want)
			}
			rows := readAll(t, f, 1)
			if want := []string{"1", "Lärk 7", "écran cassé à 20 €"}; len(rows) != 2 || !reflect.DeepEqual(rows[0].Cells, want) {
				t.Errorf("rows %+v, want first %q", rows, want)
			}
		})
	}
}

// A line from another program amid good ones is read, and counted.
func TestMixedEncodings(t *testing.T) {
	f := open(t, []byte("ticket,fault\n1,écran\n2,\xe9cran\n"), Options{Encoding: "utf-8"})
	repaired := 0
	err := f.Chunks(context.Background(), 1, func(_ int, c *Chunk) error {
		repaired += c.Repaired
		if got := string(c.Cell(1, 1)); got != "écran" {
			t.Errorf("got %q, want écran", got)
		}
		return nil
	})
	if err != nil || repaired != 1 {
		t.Errorf("repaired %d rows (%v), want 1", repaired, err)
	}
}

func TestRefusals(t *testing.T) {
	dir := t.TempDir()
	loop := filepath.Join(dir, "loop.csv")
	if err := os.Symlink(loop, loop); err != nil {
		t.Skip("no symbolic links here")
	}
	for _, tc := range []struct{ path, want string }{
		{filepath.Join(dir, "none.csv"), "no such file"},
		{dir, "is a folder"},
		{write(t, "e.csv", nil), "is empty"},
		{write(t, "h.csv", []byte("ticket,opened,model\n")), "no row below it"},
		{write(t, "b.csv", []byte("\n\n \n")), "no row"},
		{write(t, "x.csv", []byte("\x00\x01\x02\x00\x00\x7f,,\n")), "no text file"},
		{write(t, "z.csv.gz", []byte("\x1f\x8bnot really")), "gzip"},
		{loop, "loop of symbolic links"},
	} {
		_, err := Open(context.Background(), tc.path, Options{})
		if err == nil || !strings.Contains(err.Error(), tc.want) || !strings.HasPrefix(err.Error(), tc.path) {
			t.Errorf("%s: error %v, want the file's name and %q", tc.path, err, tc.want)
		}
	}
}

// Well-formed files are read as encoding/csv reads them.
func TestAgreesWithEncodingCSV(t *testing.T) {
	cell := rapid.StringMatching(`[a ,;"\n\té]{0,6}`)
	rapid.Check(t, func(t *rapid.T) {
		width := rapid.IntRange(2, 5).Draw(t, "width")
		records := rapid.SliceOfN(rapid.SliceOfN(cell, width, width), 1, 30).Draw(t, "records")
		var text bytes.Buffer
		w := csv.NewWriter(&text)
		header := make([]string, width)
		for i := range header {
			header[i] = fmt.Sprintf("h%d", i)
		}
		w.Write(header)
		var want [][]string
		for _, r := range records {
			w.Write(r)
			filled := false
			for _, c := range r {
				filled = filled || strings.TrimSpace(c) != ""
			}
			if filled {
				want = append(want, r)
			}
		}
		w.Flush()
		size := rapid.IntRange(1, 200).Draw(t, "chunk")
		got := splitAll(t, text.Bytes()[strings.IndexByte(text.String(), '\n')+1:], dialect{width: width}, size)
		if len(got) != len(want) {
			t.Fatalf("%d rows, want %d\n%q", len(got), len(want), text.String())
		}
		for i := range got {
			if !reflect.DeepEqual(got[i].Cells, want[i]) {
				t.Fatalf("row %d: %q, want %q", i, got[i].Cells, want[i])
			}
		}
	})
}

// splitAll cuts and splits text without a file.
func splitAll(t interface{ Fatalf(string, ...any) }, text []byte, d dialect, size int) []row {
	d.delim, d.eol = ',', '\n'
	k := cutter{src: bytes.NewReader(text), d: &d, size: size, line: 1}
	var all []row
	whole := 0
	for {
		c := &Chunk{}
		if err := k.next(c); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatalf("%v", err)
		}
		whole += c.Bytes
		d.split(c, 0)
		for r := range c.Rows() {
			one := row{Line: c.Line(r), Raw: string(c.Raw(r)), Cells: make([]string, c.Width(r))}
			for i := range one.Cells {
				one.Cells[i] = string(c.Cell(r, i))
			}
			all = append(all, one)
		}
	}
	if whole != len(text) {
		t.Fatalf("chunks hold %d bytes of %d", whole, len(text))
	}
	return all
}

// FuzzChunks: where the chunks are cut changes nothing.
func FuzzChunks(f *testing.F) {
	f.Add([]byte("a,b\n\"x\ny\",z\n"), 2, 3)
	f.Add([]byte("\"7,b\n\"q\",z\nc,\"d\n"), 2, 1)
	f.Add([]byte("a,\"\"\"\",\r\n\r\n \"b\" ,c\n"), 2, 2)
	f.Add([]byte(`a,"5\" x\\",c`+"\n"+`"\"","b`+"\n"+`\"",`+"\n"), 11, 2)
	f.Fuzz(func(t *testing.T, text []byte, width, size int) {
		if len(text) > 1<<12 {
			t.Skip()
		}
		d := dialect{width: width & 7, backslash: width&8 != 0}
		size = size&63 + 1
		want := splitAll(t, text, d, 1<<20)
		if got := splitAll(t, text, d, size); !reflect.DeepEqual(got, want) {
			t.Errorf("chunks of %d: %+v\nwhole: %+v", size, got, want)
		}
	})
}

func BenchmarkSplit(b *testing.B) {
	var text bytes.Buffer
	for i := 0; text.Len() < 1<<20; i++ {
		fmt.Fprintf(&text, "T%07d,2026-01-%02d,repaired,phone,Lark,Lark 7,no sound from the %d,earpiece,ABC-12,12.50,45\n", i, i%28+1, i%13)
	}
	d := dialect{delim: ',', eol: '\n', width: 11}
	c := &Chunk{}
	b.SetBytes(int64(text.Len()))
	for b.Loop() {
		c.reset()
		c.buf = append(c.buf, text.Bytes()...)
		c.text = len(c.buf)
		d.split(c, 0)
	}
}
