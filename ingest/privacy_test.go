package ingest

import (
	"bytes"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
)

// Nothing personal reaches the disk: neither accepted rows nor quarantined ones, nor those held
// back in files while a run is at work.
func TestNothingPersonalIsStored(t *testing.T) {
	planted := []string{"Plantagenet", "plantagenet", "0049 30 1234567", "planted@example.org", "SNPLANTED99", "12 Planted Street", "Plantworker"}
	log := write(t, "log.csv", `ticket,opened,model,customer,phone,email,address,serial,fault,found,notes,technician,remarks,part
1,2026-01-05,Lark 7,Mrs Plantagenet,0049 30 1234567,planted@example.org,12 Planted Street,SNPLANTED99,screen of Plantagenet broken,display of plantagenet,call 0049 30 1234567,Plantworker,Plantagenet came twice,display
2,2026-01-05,Lark 7,Mrs Plantagenet,0049 30 1234567,planted@example.org,12 Planted Street,SNPLANTED99,screen of Plantagenet broken,Mrs Plantagenet says hurlyburly,call 0049 30 1234567,Plantworker,Plantagenet came twice,display
3,,Lark 7,Mrs Plantagenet,0049 30 1234567,planted@example.org,12 Planted Street,SNPLANTED99,screen of Plantagenet broken,x,call 0049 30 1234567,Plantworker,Plantagenet came twice,planted@example.org
4,Mrs Plantagenet,Lark 7,,0049 30 1234567,,,,,,,,,0049 30 1234567
Mrs Plantagenet,oops,2026-01-05,Lark 7,0049 30 1234567,planted@example.org,12 Planted Street,SNPLANTED99,a,b,c,d,e,f,g
1,2026-01-05,Lark 7,Mrs Plantagenet,0049 30 1234567,planted@example.org,12 Planted Street,SNPLANTED99,screen of Plantagenet broken,display of plantagenet,call 0049 30 1234567,Plantworker,again,battery
Mrs Plantagenet
Mrs Plantagenet,0049 30 1234567
0049 30 1234567,,Mrs Plantagenet
Plantagenet 7,,Lark
5,2026-01-05,,Mrs Plantagenet,,,,,,,,,,display
`)
	dir := filepath.Join(t.TempDir(), "history")
	look := func(when string) {
		err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			raw, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			for _, p := range planted {
				if bytes.Contains(raw, []byte(p)) {
					t.Errorf("%s: %s holds %q", when, path, p)
				}
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	// one byte of memory for held rows: they all go to disk
	opt := Options{History: dir, HoldBytes: 1, ChunkBytes: 64}
	opt.Progress = func(Progress) {
		if _, err := os.Stat(dir); err == nil {
			look("while at work")
		}
	}
	sum := ingest(t, dir, opt, log)
	if sum.Visits != 2 || sum.Quarantined != 8 {
		t.Errorf("%d visits and %d quarantined, want 2 and 8", sum.Visits, sum.Quarantined)
	}
	look("at the end")
	for _, c := range []string{"visits", "quarantine", "quality"} {
		for _, row := range table(t, dir, c, "*") {
			for _, p := range planted {
				if bytes.Contains([]byte(row), []byte(p)) {
					t.Errorf("%s holds %q: %s", c, p, row)
				}
			}
		}
	}
}
