package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// manyJobs is a log of four months, in which every other phone has a bad battery; from skips so many tickets at first.
func manyJobs(from int) string {
	var b strings.Builder
	b.WriteString("ticket,opened,ready,class,maker,model,serial,found,technician\n")
	for m := 1; m <= 4; m++ {
		for i := from; i < 60; i++ {
			found := []string{"battery", "display"}[(i+i/7)%2]
			fmt.Fprintf(&b, "TK%d%03d,2026-%02d-%02d,2026-%02d-%02d,phone,Lark,Lark 7,SERIAL%d%d,%s,Wilhelmina\n", m, i, m, 1+i%28, m, 1+i%28, m, i, found)
		}
	}
	b.WriteString("TK9,2026-04-30,2026-04-30,phone,Lark,Lark 7,SERIAL9,battery,Wilhelmina\n")
	return b.String()
}

func TestShareAndPool(t *testing.T) {
	t.Chdir(t.TempDir())
	var bundles []string
	for i := range 2 {
		shop := fmt.Sprint("shop", i)
		write(t, shop+".csv", manyJobs(i*5))
		if code, _, errs := call(t, "ingest", shop+".csv", "--history", shop, "--quiet"); code != exitDone {
			t.Fatal(errs)
		}
		code, preview, errs := call(t, "share", "--preview", "--history", shop)
		if code != exitDone || !strings.Contains(preview, "Lark 7, battery, 2026-01, 2026-01") || !strings.Contains(errs, "withheld") {
			t.Fatalf("preview: exit %d, %q, %q", code, preview, errs)
		}
		for _, private := range []string{"TK1", "SERIAL", "Wilhelmina", shop} {
			if strings.Contains(preview, private) {
				t.Errorf("the preview tells %q", private)
			}
		}
		if _, err := os.Stat("bundle.zip"); err == nil {
			t.Error("--preview wrote a bundle")
		}
		code, out, errs := call(t, "share", "--history", shop, "--out", shop+".zip", "--json")
		if code != exitDone {
			t.Fatal(errs)
		}
		var sum struct {
			Bundle string
			Faults int
		}
		if err := json.Unmarshal([]byte(out), &sum); err != nil || sum.Bundle != shop+".zip" || sum.Faults == 0 {
			t.Errorf("%v, %s", err, out)
		}
		bundles = append(bundles, shop+".zip")
	}
	code, out, errs := call(t, append([]string{"pool", "--out", "together", "--quiet"}, bundles...)...)
	if code != exitDone || !strings.Contains(out, "2 shops, 1 model") {
		t.Errorf("exit %d, %q, %q", code, out, errs)
	}
	for _, name := range []string{"pool", "pool_shops", "pool_pairs", "pool_batches"} {
		if _, err := os.Stat(filepath.Join("together", "tables", name+".csv")); err != nil {
			t.Error(err)
		}
	}
	if _, err := os.Stat(filepath.Join("together", "pool.html")); err != nil {
		t.Error(err)
	}
}

// The second bundle of a history tells what the first told, unchanged, though a ticket was corrected since.
func TestShareAgainAfterACorrection(t *testing.T) {
	t.Chdir(t.TempDir())
	tell := func(log string) string {
		t.Helper()
		write(t, "log.csv", log)
		if code, _, errs := call(t, "ingest", "log.csv", "--quiet"); code != exitDone {
			t.Fatal(errs)
		}
		if code, _, errs := call(t, "share"); code != exitDone {
			t.Fatal(errs)
		}
		code, preview, errs := call(t, "share", "--preview")
		if code != exitDone {
			t.Fatal(errs)
		}
		return preview
	}
	first := tell(manyJobs(0))
	corrected := strings.Replace(manyJobs(0), "SERIAL10,battery", "SERIAL10,display", 1)
	if corrected == manyJobs(0) {
		t.Fatal("nothing corrected")
	}
	if second := tell(corrected); second != first {
		t.Errorf("the correction shows:\n%s\n%s", first, second)
	}
}

func TestPoolRefusesAndWritesNothing(t *testing.T) {
	t.Chdir(t.TempDir())
	write(t, "bad.zip", "PK\x03\x04 not whole")
	for _, args := range [][]string{{"pool", "bad.zip"}, {"pool", "gone.zip"}} {
		code, out, errs := call(t, append(args, "--quiet")...)
		if code != exitFailed || out != "" || !strings.Contains(errs, args[1]) {
			t.Errorf("%v: exit %d, %q, %q", args, code, out, errs)
		}
	}
	if _, err := os.Stat("brief"); err == nil {
		t.Error("something was written")
	}
	for _, args := range [][]string{{"pool"}, {"share", "--threshold", "4"}, {"share", "extra"}} {
		if code, _, errs := call(t, args...); code != exitUsage {
			t.Errorf("%v: exit %d, %q", args, code, errs)
		}
	}
	if code, _, errs := call(t, "share"); code != exitFailed || !strings.Contains(errs, "history") {
		t.Errorf("share without a history: exit %d, %q", code, errs)
	}
	if code, _, errs := call(t, "share", "--finding", "x"); code != exitFailed || !strings.Contains(errs, "faultgrain analyse") {
		t.Errorf("share --finding without findings: exit %d, %q", code, errs)
	}
}

func TestShareFinding(t *testing.T) {
	t.Chdir(t.TempDir())
	if err := os.Mkdir("brief", 0o755); err != nil {
		t.Fatal(err)
	}
	write(t, filepath.Join("brief", "findings.json"), `{"version":1,"as_of":"2026-05-31","findings":[{"id":"share-lark-7-battery-1","kind":"share","grade":"firm",
"subject":{"model":"Lark 7","component":"battery"},"headline":"Lark 7: battery in 40 of 90 diagnosed visits, firm.","numbers":{"faults":40},"action":"","caution":"","method":"m",
"period":{"from":"2025-01-01","to":"2026-05-31"},"row":{"table":"shares","key":{}}}]}`)
	if code, out, errs := call(t, "share", "--finding", "share-lark-7-battery-1", "--out", "told"); code != exitDone || !strings.Contains(out, "told.md") {
		t.Fatalf("exit %d, %q, %q", code, out, errs)
	}
	for _, name := range []string{"told.html", "told.md"} {
		if b, err := os.ReadFile(name); err != nil || !strings.Contains(string(b), "40 of 90") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if code, _, errs := call(t, "share", "--finding", "share-lark-7-batery-1"); code != exitFailed || !strings.Contains(errs, `did you mean "share-lark-7-battery-1"?`) {
		t.Errorf("exit %d, %q", code, errs)
	}
}
