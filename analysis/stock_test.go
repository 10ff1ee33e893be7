package analysis

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"faultgrain/analysis/tally/tallytest"
	"faultgrain/schemas"
)

func stockFile(t *testing.T, text string) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "stock.csv")
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

func TestRunWithStock(t *testing.T) {
	dir := tallytest.History(t, tallytest.Segment{Visits: shopLog(5, 900)})
	file := stockFile(t, "part,component,fits,on_hand,unit_cost,supplier\nBAT-3,battery,Corvo 3,0,12.50,Partquay\nDSP-12,display,Tindra One 12,90,60,Partquay\n")
	out, s := runOn(t, dir, Options{Stock: file, Settings: schemas.Settings{Currency: "EUR"}})
	files := tablesOf(t, out)
	if s.Tables["stock"] != 2 || s.Tables["order"] != 1 || s.Tables["backtest"] != 6 {
		t.Errorf("rows %v, want 2 parts, one of them to order, and 6 rules", s.Tables)
	}
	if got := files["partquay.csv"]; got != files["order.csv"] || !strings.Contains(got, "Partquay,BAT-3,battery,Corvo 3,") || strings.Contains(got, "DSP-12") {
		t.Errorf("list for the supplier:\n%s", got)
	}
	if !strings.Contains(files["findings.json"], "stock-bat-3") {
		t.Error("the order is no finding")
	}
	nothing := 0.0
	if _, s = runOn(t, dir, Options{Stock: file, Budget: &nothing, Settings: schemas.Settings{Currency: "EUR"}}); s.Tables["order"] != 0 {
		t.Errorf("%d lines ordered for nothing", s.Tables["order"])
	}
}

func TestAWrongStockFileStopsTheRun(t *testing.T) {
	out := t.TempDir()
	_, err := Run(t.Context(), Options{History: tallytest.History(t, tallytest.Segment{Visits: shopLog(5, 50)}), Out: out,
		Stock: stockFile(t, "part,component,on_hand\nBAT-3,batery,1\n")})
	if err == nil || !strings.Contains(err.Error(), `stock.csv:2: column "component"`) || !strings.Contains(err.Error(), `did you mean "battery"`) {
		t.Errorf("%v, want the line and the nearest component", err)
	}
	if entries, err := os.ReadDir(out); err != nil || len(entries) > 0 {
		t.Errorf("OUT holds %v, %v; want nothing", entries, err)
	}
}
