package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
)

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
