package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"

	"faultgrain/ingest/history"
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

// A disk that is full at any point: the error says so, the history is whole, and no report only looks whole.
func TestFullDisk(t *testing.T) {
	small := tmpfs(t, "size=64m")
	t.Chdir(t.TempDir())
	monster(t, "a.csv", monsterHeader, 3000, func(i int) string { return monsterRow(i, fmt.Sprint("Lark ", i%30), monsterFaults[i%4]) })
	full, whole := 0, 0
	for left := int64(0); left < 12<<20; left += 2 << 20 / int64(min(torture(t), 16)) {
		history, brief, ballast := filepath.Join(small, "history"), filepath.Join(small, "brief"), filepath.Join(small, "ballast")
		fill(t, ballast, small, left)
		p := start(t, ".", "run", "a.csv", "--history", history, "--out", brief, "--quiet")
		err := p.Wait()
		said := p.err.String()
		if err == nil {
			whole++
		} else {
			full++
			if !strings.Contains(said, "no space left") && !strings.Contains(said, "disk is full") && !strings.Contains(strings.ToLower(said), "space") || strings.Contains(said, "goroutine ") {
				t.Errorf("with %d kB left: %v: %q", left>>10, err, said)
			}
			if _, err := os.Stat(filepath.Join(brief, "index.html")); err == nil {
				t.Errorf("with %d kB left: a first page in spite of %q", left>>10, said)
			}
		}
		if err := os.Remove(ballast); err != nil {
			t.Fatal(err)
		}
		wholeHistory(t, history, fmt.Sprintf("with %d kB left", left>>10))
		if err := errors.Join(os.RemoveAll(history), os.RemoveAll(brief)); err != nil {
			t.Fatal(err)
		}
	}
	if full == 0 || whole == 0 {
		t.Errorf("the disk was full %d times and sufficed %d times; want both", full, whole)
	}
	t.Logf("full %d times, sufficed %d times", full, whole)
}

// wholeHistory verifies a history, if there is one.
func wholeHistory(t *testing.T, dir, when string) {
	t.Helper()
	problems, err := history.Verify(context.Background(), dir)
	if err != nil && !errors.Is(err, history.ErrNoHistory) || len(problems) > 0 {
		t.Errorf("%s: verify: %v, %v", when, problems, err)
	}
}

// fill takes room on the disk until so many bytes are left.
func fill(t *testing.T, name, disk string, left int64) {
	t.Helper()
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	chunk := make([]byte, 1<<20)
	for {
		if _, err := f.Write(chunk); err != nil {
			if !errors.Is(err, syscall.ENOSPC) {
				t.Fatal(err)
			}
			break
		}
	}
	info, err := f.Stat()
	if err == nil {
		err = f.Truncate(max(info.Size()-left, 0))
	}
	if err != nil {
		t.Fatal(err)
	}
}

// A folder that can't be written is named in the error, with the flag that names another.
func TestReadOnlyFolders(t *testing.T) {
	disk := tmpfs(t, "size=64m")
	t.Chdir(t.TempDir())
	monster(t, "a.csv", monsterHeader, 50, func(i int) string { return monsterRow(i, "Lark 7", monsterFaults[i%4]) })
	history, brief := filepath.Join(disk, "history"), filepath.Join(disk, "brief")
	if code, _, errs := call(t, "run", "a.csv", "--history", history, "--out", brief, "--quiet"); code != exitDone {
		t.Fatal(errs)
	}
	before := contents(t, disk)
	if out, err := exec.Command("mount", "-o", "remount,ro", disk).CombinedOutput(); err != nil {
		t.Skipf("remount: %v: %s", err, out)
	}
	for _, c := range []struct {
		args []string
		flag string
	}{
		{[]string{"ingest", "a.csv", "--history", filepath.Join(disk, "other")}, "--history"},
		{[]string{"ingest", "a.csv", "--history", history}, "--history"},
		{[]string{"analyse", "--history", history, "--out", brief}, "--out"},
		{[]string{"report", "--out", brief}, "--out"},
	} {
		code, _, errs := call(t, append(c.args, "--quiet")...)
		if code != exitFailed || !strings.Contains(errs, c.flag) || !strings.Contains(errs, "read-only") {
			t.Errorf("%v: exit %d, %q; want the reason and %s", c.args[0], code, errs, c.flag)
		}
	}
	if names := differing(contents(t, disk), before); len(names) > 0 {
		t.Errorf("changed: %v", names)
	}
	// What only reads still works.
	if code, _, errs := call(t, "verify", "--history", history); code != exitDone {
		t.Errorf("verify: %s", errs)
	}
	if code, _, errs := call(t, "analyse", "--history", history, "--out", "elsewhere", "--quiet"); code != exitDone {
		t.Errorf("analyse into another folder: %s", errs)
	}
}

// tmpfs mounts a small disk, where the machine lets us.
func tmpfs(t *testing.T, options string) string {
	t.Helper()
	if runtime.GOOS != "linux" || os.Geteuid() != 0 {
		t.Skip("only root on Linux may mount a small disk")
	}
	dir := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", options, "none", dir).CombinedOutput(); err != nil {
		t.Skipf("mount: %v: %s", err, out)
	}
	t.Cleanup(func() {
		if out, err := exec.Command("umount", dir).CombinedOutput(); err != nil {
			t.Errorf("umount: %v: %s", err, out)
		}
	})
	return dir
}
