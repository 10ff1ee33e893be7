package batches

import (
	"math/rand/v2"
	"testing"
)

// Bars save work only: with bars that everything clears, each replicate has the same largest score.
func TestBarsPassOverNothing(t *testing.T) {
	passed := 0
	for _, tc := range []struct {
		models         int
		perWeek, share float64
	}{{40, 2, 0.02}, {40, 2, 0.1}, {3, 60, 0.3}, {1, 9, 0.05}} {
		s := newScanner(nullGrid(tc.models, 12, Baseline+MaxWindow, tc.perWeek, tc.share, rand.New(rand.NewPCG(5, 5))))
		scores := func() []float64 {
			list := make([]float64, round)
			s.replicates(t.Context(), s.newBench(), 7, 0, list)
			return list
		}
		barred := scores()
		for i := range s.series {
			for n := range s.series[i].fences {
				f := &s.series[i].fences[n]
				if !f.clears(&[MaxWindow]int32{minCases}, heights[len(heights)-1]) {
					passed++
				}
				f.bars = [len(heights)]bar{}
			}
		}
		for i, score := range scores() {
			if score != barred[i] {
				t.Errorf("%+v: replicate %d has %v, with bars %v", tc, i, score, barred[i])
			}
		}
	}
	if passed == 0 {
		t.Errorf("no sheet has a bar above %d cases", minCases)
	}
}

func TestTrayTellsInOrderAndEmpties(t *testing.T) {
	tr := newTray(130)
	for _, cell := range []int{129, 0, 64, 63, 64} {
		tr.put(cell, 2)
	}
	var cells []int
	tr.each(func(cell int, n int32) {
		cells = append(cells, cell)
		if want := int32(2); cell != 64 && n != want || cell == 64 && n != 2*want {
			t.Errorf("cell %d holds %d", cell, n)
		}
	})
	if len(cells) != 4 || cells[0] != 0 || cells[1] != 63 || cells[2] != 64 || cells[3] != 129 {
		t.Errorf("cells %v, want 0, 63, 64, 129", cells)
	}
	tr.each(func(cell int, n int32) { t.Errorf("cell %d still holds %d", cell, n) })
}
