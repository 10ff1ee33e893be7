package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const monsterHeader = "ticket,opened,ready,outcome,class,maker,model,found,minutes\n"

// monster writes a log row by row.
func monster(t *testing.T, name, header string, rows int, row func(i int) string) {
	t.Helper()
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	w := bufio.NewWriter(f)
	fmt.Fprint(w, header)
	for i := range rows {
		fmt.Fprint(w, row(i))
	}
	if err := w.Flush(); err != nil {
		t.Fatal(err)
	}
}

func monsterRow(i int, model, found string) string {
	day := fmt.Sprintf("2026-%02d-%02d", 1+i/28%6, 1+i%28)
	return fmt.Sprintf("T%d,%s,%s,repaired,phone,Lark,%s,%s,%d\n", i, day, day, model, found, 20+i%50)
}

var monsterFaults = []string{"battery", "display", "earpiece", "charge port"}

// What no shop means to hand in ends in a whole report or in a sentence, and never in a half.
func TestMonstrousLogs(t *testing.T) {
	many := 2000 * torture(t)
	cases := map[string]struct {
		write func(t *testing.T)
		logs  string // a pattern; empty means a.csv
		want  int    // visits; -1: refused
		says  string
	}{
		"lines of 64 kB": {
			write: func(t *testing.T) {
				long := strings.Repeat("the battery is flat and ", 64<<10/24)
				monster(t, "a.csv", monsterHeader, 200, func(i int) string { return monsterRow(i, "Lark 7", long) })
			},
			want: 200,
		},
		"a model of its own on every row": {
			write: func(t *testing.T) {
				monster(t, "a.csv", monsterHeader, many, func(i int) string {
					return monsterRow(i, fmt.Sprintf("Lark %c%d", 'A'+i%26, i), monsterFaults[i%4])
				})
			},
			want: many,
		},
		"100,000 columns": {
			write: func(t *testing.T) {
				extra := strings.Repeat(",", 100_000)
				var header strings.Builder
				header.WriteString(strings.TrimSuffix(monsterHeader, "\n"))
				for i := range 100_000 {
					fmt.Fprintf(&header, ",x%d", i)
				}
				monster(t, "a.csv", header.String()+"\n", 20, func(i int) string {
					return strings.TrimSuffix(monsterRow(i, "Lark 7", monsterFaults[i%4]), "\n") + extra + "\n"
				})
			},
			want: 20,
		},
		"thousands of files": {
			write: func(t *testing.T) {
				if err := os.Mkdir("logs", 0o755); err != nil {
					t.Fatal(err)
				}
				for n := range min(many/8, 5000) {
					monster(t, filepath.Join("logs", fmt.Sprintf("%04d.csv", n)), monsterHeader, 2, func(i int) string {
						return monsterRow(2*n+i, "Lark 7", monsterFaults[i%4])
					})
				}
			},
			logs: "logs/*.csv",
			want: 2 * min(many/8, 5000),
		},
		"a link to itself": {
			write: func(t *testing.T) {
				if err := os.Symlink("a.csv", "a.csv"); err != nil {
					t.Skip(err)
				}
			},
			want: -1,
		},
		"zeros only": {
			write: func(t *testing.T) {
				if err := os.WriteFile("a.csv", make([]byte, 1<<20), 0o600); err != nil {
					t.Fatal(err)
				}
			},
			want: -1,
		},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			t.Chdir(t.TempDir())
			c.write(t)
			args := []string{"a.csv"}
			if c.logs != "" {
				args, _ = filepath.Glob(c.logs) // the pattern is well formed
			}
			code, out, errs := call(t, append(append([]string{"run"}, args...), "--json", "--quiet")...)
			if c.want < 0 {
				if code != exitFailed && code != exitUsage || errs == "" || strings.Contains(errs, "goroutine ") {
					t.Errorf("exit %d, %q; want a refusal in words", code, errs)
				}
				if _, err := os.Stat(filepath.Join("brief", "index.html")); err == nil {
					t.Error("a report was drawn")
				}
				t.Logf("%s", strings.TrimSpace(errs))
				return
			}
			if code != exitDone {
				t.Fatalf("exit %d: %s", code, errs)
			}
			var got struct{ Visits int }
			if err := json.Unmarshal([]byte(out), &got); err != nil || got.Visits != c.want {
				t.Errorf("%d visits, %v, want %d", got.Visits, err, c.want)
			}
			page, err := os.ReadFile(filepath.Join("brief", "index.html"))
			if err != nil || !bytes.HasSuffix(bytes.TrimSpace(page), []byte("</html>")) {
				t.Errorf("the first page is not whole: %v", err)
			}
		})
	}
}
