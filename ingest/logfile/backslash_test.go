package logfile

import (
	"bytes"
	"encoding/csv"
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

// Quotes escaped by backslashes are read where the file as a whole escapes them so; backslashes that mean themselves stay.
func TestBackslashes(t *testing.T) {
	for _, tc := range []struct {
		name string
		rows string
		want []string // the cells of the column fault
	}{
		{"inches", `1,"5\" screen",x` + "\n" + `2,plain,y`, []string{`5" screen`, "plain"}},
		{"at a cell's end", `1,"5\"",x` + "\n" + `2,"5\", cracked",y`, []string{`5"`, `5", cracked`}},
		{"backslashes escaped, too", `1,"C:\\logs\\",x` + "\n" + `2,"says \"hot\" now",y`, []string{`C:\logs\`, `says "hot" now`}},
		{"a line break in the cell", `1,"5\" screen` + "\n" + `cracked",x` + "\n2,a,y", []string{"5\" screen\ncracked", "a"}},
		{"folders", `1,"C:\logs\",x` + "\n" + `2,"D:\",y`, []string{`C:\logs\`, `D:\`}},
		{"folders without quotes", `1,C:\logs\,x` + "\n" + `2,D:\new,y`, []string{`C:\logs\`, `D:\new`}},
		{"a delimiter and a break beside a backslash", `,",` + "\n" + `",",,\"`, []string{",\n"}},
		{"folders beside doubled quotes", `1,"C:\logs\",x` + "\n" + `2,"a ""b"" c",y` + "\n" + `3,"\""b",z`, []string{`C:\logs\`, `a "b" c`, `\"b`}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			f := open(t, []byte("ticket,fault,model\n"+tc.rows+"\n"), Options{})
			for _, size := range []int{1, 5, 1 << 20} {
				f.chunkBytes = size
				var got []string
				for _, r := range readAll(t, f, 3) {
					if len(r.Cells) != 3 {
						t.Fatalf("cells %q, want three", r.Cells)
					}
					got = append(got, r.Cells[1])
				}
				if !reflect.DeepEqual(got, tc.want) {
					t.Errorf("chunks of %d: got %q, want %q", size, got, tc.want)
				}
			}
		})
	}
}

// A well-formed file with backslashes is never taken for one that escapes by them.
func TestBackslashesOfWellFormedFiles(t *testing.T) {
	cell := rapid.StringMatching(`[a ,\\"\n]{0,6}`)
	rapid.Check(t, func(t *rapid.T) {
		records := rapid.SliceOfN(rapid.SliceOfN(cell, 3, 3), 1, 20).Draw(t, "records")
		var text bytes.Buffer
		if err := csv.NewWriter(&text).WriteAll(records); err != nil {
			t.Fatal(err)
		}
		d := dialect{delim: ',', eol: '\n', width: 3}
		if d.escapes(text.Bytes(), true) {
			t.Fatalf("taken for a file with escapes: %q", text.String())
		}
	})
}
