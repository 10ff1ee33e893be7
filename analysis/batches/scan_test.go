package batches

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"faultgrain/analysis/stat"
)

// A made-up null history: models of one class fail alike, week after week.
func nullGrid(models, components, weeks int, perWeek, share float64, rng *rand.Rand) *Grid {
	g := &Grid{Weeks: weeks, Visits: make([][]int32, models), Cases: make([][][]int32, components)}
	for m := range models {
		g.Models = append(g.Models, Model{Name: name("model", m), Family: name("family", m/5), Maker: name("maker", m/10), Class: name("class", m/50)})
		g.Visits[m] = make([]int32, weeks)
		for w := range weeks {
			g.Visits[m][w] = int32(poisson(rng, perWeek))
		}
	}
	for c := range components {
		g.Components = append(g.Components, name("component", c))
		g.Cases[c] = make([][]int32, models)
		for m := range models {
			g.Cases[c][m] = make([]int32, weeks)
			for w := range weeks {
				for range g.Visits[m][w] {
					if rng.Float64() < share {
						g.Cases[c][m][w]++
					}
				}
			}
		}
	}
	return g
}

func name(kind string, i int) string {
	return kind + " " + string(rune('a'+i/26)) + string(rune('a'+i%26))
}

func poisson(rng *rand.Rand, mean float64) int {
	k, p := 0, math.Exp(-mean)
	for u := rng.Float64(); u > p; k++ {
		u -= p
		p *= mean / float64(k+1)
	}
	return k
}

// Without drift and with one model, the score is Kulldorff's: SCAN-1 and SCAN-2 of the reference values.
// G2 = 25.37 of the aspirin table (Agresti 2002, from memory) is twice the ratio; the second is R-only.
func TestBernoulliIsKulldorffs(t *testing.T) {
	for _, tc := range []struct {
		c, n, C, N int
		want       float64
	}{
		{189, 11034, 293, 22071, 12.68597952},
		{8, 20, 20, 200, 7.468956515},
	} {
		got := bernoulli(float64(tc.c), float64(tc.n), float64(tc.C), float64(tc.N))
		if math.Abs(got-tc.want) > 1e-8*tc.want {
			t.Errorf("bernoulli(%d, %d, %d, %d) = %.10g, want %.10g", tc.c, tc.n, tc.C, tc.N, got, tc.want)
		}
		if whole, err := stat.BernoulliLLR(tc.c, tc.n, tc.C, tc.N); err != nil || math.Abs(whole-got) > 1e-9 {
			t.Errorf("stat.BernoulliLLR says %v, %v", whole, err)
		}
	}
}

func TestScanFindsWhatIsThereAndWhere(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	g := nullGrid(20, 6, Baseline+MaxWindow, 3, 0.08, rng)
	for _, m := range []int{5, 6, 7} { // three models of one family
		for w := g.Weeks - 5; w < g.Weeks; w++ {
			g.Cases[2][m][w] += 2
			g.Visits[m][w] += 2
		}
	}
	alarms, err := Scan(context.Background(), g, ScanOptions{Seed: 1, Replicates: 199})
	if err != nil {
		t.Fatal(err)
	}
	if len(alarms) != 1 {
		t.Fatalf("%d alarms, want the one that was put in: %+v", len(alarms), alarms)
	}
	a := alarms[0]
	if g.Components[a.Component] != name("component", 2) || a.Level != levelFamily || a.Window < 4 || a.Window > 6 {
		t.Errorf("alarm %+v, want component 2 of a family over about 5 weeks", a)
	}
	if a.P > 0.005 {
		t.Errorf("p = %v for a plain excess", a.P)
	}
}

func TestScanDoesNotDependOnWorkers(t *testing.T) {
	g := nullGrid(12, 4, Baseline+MaxWindow, 2, 0.1, rand.New(rand.NewPCG(3, 3)))
	s := newScanner(g)
	one, err := s.maxima(context.Background(), ScanOptions{Seed: 5, Replicates: 40, Workers: 1}, math.Inf(1))
	if err != nil {
		t.Fatal(err)
	}
	three, err := s.maxima(context.Background(), ScanOptions{Seed: 5, Replicates: 40, Workers: 3}, math.Inf(1))
	if err != nil {
		t.Fatal(err)
	}
	for i := range one {
		if one[i] != three[i] {
			t.Fatalf("replicate %d: %v with one worker, %v with three", i, one[i], three[i])
		}
	}
}

// Under the null hypothesis p is at most alpha in at most alpha of histories, within four standard errors.
func TestScanHoldsItsLevel(t *testing.T) {
	const histories, alpha = 200, 0.1
	raised := 0
	for i := range histories {
		g := nullGrid(8, 3, 40, 1.5, 0.12, rand.New(rand.NewPCG(11, uint64(i))))
		alarms, err := Scan(context.Background(), g, ScanOptions{Seed: uint64(i), Replicates: 99, Alpha: alpha})
		if err != nil {
			t.Fatal(err)
		}
		if len(alarms) > 0 {
			raised++
		}
	}
	se := math.Sqrt(alpha * (1 - alpha) / histories)
	if rate := float64(raised) / histories; rate > alpha+4*se || rate < alpha-4*se {
		t.Errorf("%.3f of null histories raise an alarm, want about %.2f", rate, alpha)
	}
}

// Whatever is counted, an alarm carries numbers that make sense: weeks without visits, models without a class, components
// on every visit or on one.
func TestAlarmsMakeSense(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		weeks := rapid.IntRange(minWeeks, Baseline+MaxWindow).Draw(t, "weeks")
		models := rapid.IntRange(1, 5).Draw(t, "models")
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		g := &Grid{Weeks: weeks, Components: []string{"one", "two"}, Cases: [][][]int32{make([][]int32, models), make([][]int32, models)}}
		for m := range models {
			g.Models = append(g.Models, Model{Name: name("model", m), Family: name("family", m/2)[:rapid.SampledFrom([]int{0, 6, 9}).Draw(t, "family")], Class: name("", m%2)})
			busy, from := rng.Float64()*8, rng.IntN(weeks)
			visits, rare, often := make([]int32, weeks), make([]int32, weeks), make([]int32, weeks)
			for w := range weeks {
				if w >= from {
					visits[w] = int32(poisson(rng, busy))
				}
				for range visits[w] {
					if rng.Float64() < 0.05 || w >= weeks-3 {
						rare[w]++
					}
					if rng.Float64() < 0.97 {
						often[w]++
					}
				}
			}
			g.Visits = append(g.Visits, visits)
			g.Cases[0][m], g.Cases[1][m] = rare, often
		}
		alarms, err := Scan(t.Context(), g, ScanOptions{Seed: 1, Replicates: 99, Alpha: 0.3})
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range alarms {
			for h := 1; h <= MaxWindow; h++ {
				a := a.During(h)
				cases := 0
				for _, m := range a.Models {
					cases += a.Cases(g, m)
				}
				if cases != a.Observed || a.Observed > a.Visits || !(a.Expected >= 0) || math.IsInf(a.Expected, 0) || !(a.LLR >= 0) || math.IsInf(a.LLR, 0) {
					t.Fatalf("%d weeks: %+v", h, a)
				}
			}
			if !(a.P > 0 && a.P <= 0.3) || a.Observed < minCases || !(float64(a.Observed) > a.Expected) || !(a.Expected > 0) || a.Window < 1 || a.Window > MaxWindow || len(a.Models) == 0 || a.Node == "" {
				t.Fatalf("%+v", a)
			}
		}
	})
}

// A replicate allocates nothing: thousands are made.
func TestReplicatesDontAllocate(t *testing.T) {
	s := newScanner(nullGrid(12, 4, Baseline+MaxWindow, 2, 0.1, rand.New(rand.NewPCG(6, 6))))
	b := s.newBench()
	first, largest := 0, make([]float64, 3)
	if n := testing.AllocsPerRun(20, func() {
		s.replicates(t.Context(), b, 1, first, largest)
		first += len(largest)
		if slices.Min(largest) <= 0 {
			t.Error("no score in a replicate")
		}
	}); n > 0 {
		t.Errorf("%v allocations in a replicate", n)
	}
}

func TestScanRefusesAShortHistory(t *testing.T) {
	g := nullGrid(2, 1, 20, 2, 0.1, rand.New(rand.NewPCG(1, 1)))
	if _, err := Scan(context.Background(), g, ScanOptions{}); err == nil {
		t.Error("20 weeks were taken for a baseline")
	}
}

func BenchmarkScan(b *testing.B) {
	for _, tc := range []struct {
		name  string
		alarm int32
	}{{"nothing in it", 0}, {"an alarm", 6}} {
		b.Run(tc.name, func(b *testing.B) {
			g := nullGrid(200, 30, Baseline+MaxWindow, 2, 0.05, rand.New(rand.NewPCG(2, 2)))
			for w := g.Weeks - 4; w < g.Weeks; w++ {
				g.Visits[7][w] += tc.alarm
				g.Cases[3][7][w] += tc.alarm
			}
			for b.Loop() {
				alarms, err := Scan(context.Background(), g, ScanOptions{Seed: 1})
				if err != nil || len(alarms) == 0 && tc.alarm > 0 {
					b.Fatal(alarms, err)
				}
			}
		})
	}
}
