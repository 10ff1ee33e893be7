package ingest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A run that is stopped, in either pass, leaves no trace.
func TestCancel(t *testing.T) {
	log := write(t, "log.csv", firstExport+strings.Repeat("9,2026-01-09,Lark 9,hinge,Eve\n", 2000))
	for _, stage := range []string{"survey", "read"} {
		t.Run(stage, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "history")
			ctx, cancel := context.WithCancel(t.Context())
			defer cancel()
			opt := Options{History: dir, ChunkBytes: 256, Progress: func(p Progress) {
				if p.Stage == stage {
					cancel()
				}
			}}
			if _, err := Run(ctx, []string{log}, opt); !errors.Is(err, context.Canceled) {
				t.Errorf("error %v, want a cancelled run", err)
			}
			if _, err := os.Stat(dir); err == nil {
				t.Errorf("the run left %v", files(t, dir))
			}
		})
	}
}

// A run stopped on an existing history leaves it as it was.
func TestCancelOnHistory(t *testing.T) {
	dir := t.TempDir()
	ingest(t, dir, Options{}, write(t, "first.csv", firstExport))
	before := files(t, dir)
	ctx, cancel := context.WithCancel(t.Context())
	more := write(t, "more.csv", strings.ReplaceAll(firstExport, "2026", "2025"))
	_, err := Run(ctx, []string{more}, Options{History: dir, Progress: func(p Progress) {
		if p.Stage == "read" {
			cancel()
		}
	}})
	cancel()
	if !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want a cancelled run", err)
	}
	same(t, "files", files(t, dir), before)
}

// Shapes no shop has, but some program writes.
func TestOddShapes(t *testing.T) {
	wide := "ticket,opened,model" + numbered(100_000, ",c%d")
	row := "1,2026-01-05,Lark 7" + strings.Repeat(",", 100_000)
	long := strings.Repeat("the display is broken, ", 64<<10/23)
	for _, tc := range []struct {
		name, log string
		visits    int64
	}{
		{"100,000 columns", wide + "\n" + row + "\n", 1},
		{"lines of 64 kB", "ticket,opened,model,fault\n1,2026-01-05,Lark 7,\"" + long + "\"\n2,2026-01-05,Lark 7,x\n", 2},
		{"one ticket in every row", "ticket,opened,model,charge\n" + strings.Repeat("1,2026-01-05,Lark 7,1\n1,2026-01-05,Lark 7,2\n", 5000), 1},
		{"one ticket in many rows, each different", "ticket,opened,model,part,pos\n" + numbered(20_000, "1,2026-01-05,Lark 7,display,%d\n"), 1},
		{"many models", "ticket,opened,model\n" + numbered(20_000, "%[1]d,2026-01-05,Lark %[1]d\n"), 20_000},
	} {
		t.Run(tc.name, func(t *testing.T) {
			sum := ingest(t, t.TempDir(), Options{}, write(t, "log.csv", tc.log))
			if sum.Visits != tc.visits {
				t.Errorf("%d visits, want %d", sum.Visits, tc.visits)
			}
		})
	}
}

func numbered(n int, form string) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, form, i)
	}
	return b.String()
}

func TestManyLogs(t *testing.T) {
	dir := t.TempDir()
	var logs []string
	for i := range 300 {
		path := filepath.Join(dir, fmt.Sprintf("log%d.csv", i))
		if err := os.WriteFile(path, fmt.Appendf(nil, "ticket,opened,model\n%d,2026-01-05,Lark 7\n%d,2026-01-05,Lark 7\n", i, i+1), 0o600); err != nil {
			t.Fatal(err)
		}
		logs = append(logs, path)
	}
	sum := ingest(t, filepath.Join(dir, "history"), Options{}, logs...)
	if sum.Visits != 301 {
		t.Errorf("%d visits, want 301", sum.Visits)
	}
}
