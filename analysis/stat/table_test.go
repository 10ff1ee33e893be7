package stat

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Agresti (2002), tea tasting: 0.2429 and 0.4857 confirmed, mid-p from memory;
// whales and sharks of the SciPy documentation (confirmed); Fisher's twins (from memory).
func TestFisherPublished(t *testing.T) {
	tea := value(Fisher(Table2{3, 1, 1, 3}))(t)
	agrees(t, "FISHER-1", "tea one-sided p", tea.Greater)
	agrees(t, "FISHER-1", "tea two-sided p", tea.TwoSided)
	agrees(t, "FISHER-1", "tea one-sided mid-p", tea.MidGreater)
	// By hand: 9/35 = less likely 2/70, and half of 2*16/70.
	near(t, "tea two-sided mid-p", tea.MidP, 9.0/35, 1e-12)

	agrees(t, "FISHER-2", "[8 2; 1 5] two-sided p", value(Fisher(Table2{8, 2, 1, 5}))(t).TwoSided)

	twins := value(Fisher(Table2{2, 15, 10, 3}))(t)
	agrees(t, "FISHER-3", "convictions two-sided p", twins.TwoSided)
	agrees(t, "FISHER-3", "convictions one-sided (less) p", twins.Less)
}

// Larger tables: R-only.
func TestFisherLarge(t *testing.T) {
	agrees(t, "FISHER-4", "[30 970; 250 8750] two-sided p", value(Fisher(Table2{30, 970, 250, 8750}))(t).TwoSided)
	agrees(t, "FISHER-4", "[3000 97000; 25000 975000] one-sided greater p", value(Fisher(Table2{3000, 97_000, 25_000, 975_000}))(t).Greater)
}

// SciPy documentation of odds_ratio (confirmed); Fisher's twins, tight root (R-only).
func TestOddsRatioExactPublished(t *testing.T) {
	r := value(OddsRatioExact(Table2{7, 15, 58, 472}, 0.95))(t)
	agrees(t, "OR-2", "tight solve estimate", r.Value.Value)
	agrees(t, "OR-2", "tight solve lower", r.Lo)
	agrees(t, "OR-2", "tight solve upper", r.Hi.Value)
	r = value(OddsRatioExact(Table2{2, 15, 10, 3}, 0.95))(t)
	agrees(t, "FISHER-3", "tight solve OR estimate", r.Value.Value)
	agrees(t, "FISHER-3", "tight solve OR lower", r.Lo)
	agrees(t, "FISHER-3", "tight solve OR upper", r.Hi.Value)
}

// Koopman (1984), Biometrics 40, 513-517 (from memory).
func TestRiskRatioScorePublished(t *testing.T) {
	r := value(RiskRatioScore(36, 40, 16, 80, 0.95))(t)
	agrees(t, "RR-3", "36/40 vs 16/80 Koopman estimate", r.Value.Value)
	agrees(t, "RR-3", "36/40 vs 16/80 Koopman lower", r.Lo)
	agrees(t, "RR-3", "36/40 vs 16/80 Koopman upper", r.Hi.Value)
}

// Sahai and Khurshid (1996), example 3.1 (confirmed); Agresti (2002), aspirin (from memory).
func TestRiskRatioKatzPublished(t *testing.T) {
	for _, c := range []struct {
		id             string
		x1, n1, x2, n2 int
	}{{"RR-1", 27, 122, 44, 487}, {"RR-2", 189, 11034, 104, 11037}} {
		r := value(RiskRatioKatz(c.x1, c.n1, c.x2, c.n2, 0.95))(t)
		tag := fmt.Sprintf("%d/%d vs %d/%d Katz ", c.x1, c.n1, c.x2, c.n2)
		agrees(t, c.id, tag+"estimate", r.Value.Value)
		agrees(t, c.id, tag+"lower", r.Lo)
		agrees(t, c.id, tag+"upper", r.Hi.Value)
	}
}

// Newcombe (1998), Stat. Med. 17, 873-890, table II: method 10 (confirmed), 11 (from memory).
func TestShareDifferencePublished(t *testing.T) {
	for _, c := range [][4]int{{56, 70, 48, 80}, {9, 10, 3, 10}, {6, 7, 2, 7}, {5, 56, 0, 29}, {0, 10, 0, 20}, {10, 10, 0, 20}} {
		d := value(ShareDifference(c[0], c[1], c[2], c[3], 0.95))(t)
		tag := fmt.Sprintf("%d/%d vs %d/%d ", c[0], c[1], c[2], c[3])
		agrees(t, "DIFF-1", tag+"lower", d.Lo)
		agrees(t, "DIFF-1", tag+"upper", d.Hi)
	}
	d := value(ShareDifferenceCorrected(56, 70, 48, 80, 0.95))(t)
	agrees(t, "DIFF-2", "56/70 vs 48/80 with cc lower", d.Lo)
	agrees(t, "DIFF-2", "56/70 vs 48/80 with cc upper", d.Hi)
}

func TestTableEdges(t *testing.T) {
	if _, err := Fisher(Table2{}); !errors.Is(err, ErrNoData) {
		t.Errorf("empty table: %v", err)
	}
	if _, err := Fisher(Table2{-1, 2, 3, 4}); !errors.Is(err, ErrOutOfRange) {
		t.Errorf("negative count: %v", err)
	}
	if p := value(FisherMidP(Table2{0, 5, 0, 7}))(t); p != 1 {
		t.Errorf("no case at all: p %v, want 1", p)
	}
	if _, err := OddsRatioExact(Table2{0, 5, 0, 7}, 0.95); !errors.Is(err, ErrNoInformation) {
		t.Errorf("no case at all: %v", err)
	}
	if _, err := RiskRatioScore(0, 5, 0, 7, 0.95); !errors.Is(err, ErrNoInformation) {
		t.Errorf("no case at all: %v", err)
	}
	zero := value(OddsRatioExact(Table2{0, 10, 5, 5}, 0.95))(t)
	if zero.Lo != 0 || zero.Value != bounded(0) || !zero.Hi.Bounded {
		t.Errorf("zero cell: %+v", zero)
	}
	// By hand: P(A = 0) is 252*psi^0 of sum over a, so at the upper limit
	// C(10,5) / sum C(10,a) C(10,5-a) psi^a = 0.025.
	sum := 0.0
	for a := 0; a <= 5; a++ {
		sum += choose(10, a) * choose(10, 5-a) * math.Pow(zero.Hi.Value, float64(a))
	}
	near(t, "upper limit of zero cell", choose(10, 5)/sum, 0.025, 1e-9)
	full := value(OddsRatioExact(Table2{5, 5, 0, 10}, 0.95))(t)
	if full.Value.Bounded || full.Hi.Bounded || !(full.Lo > 1) {
		t.Errorf("unbounded odds ratio: %+v", full)
	}
	score := value(RiskRatioScore(5, 10, 0, 10, 0.95))(t)
	if score.Value.Bounded || score.Hi.Bounded || !(score.Lo > 0) {
		t.Errorf("unbounded risk ratio: %+v", score)
	}
	all := value(RiskRatioScore(10, 10, 20, 20, 0.95))(t)
	near(t, "all of both", all.Value.Value, 1, 1e-12)
	// By hand: with every one a case the score statistic for ratio r > 1 is n2*(r-1),
	// and for r < 1 it is n1*(1/r-1); 1.96 squared is 3.8415.
	z2 := 1.959963984540054 * 1.959963984540054
	near(t, "upper, all of both", all.Hi.Value, 1+z2/20, 1e-9)
	near(t, "lower, all of both", all.Lo, 1/(1+z2/10), 1e-9)
}

func choose(n, k int) float64 {
	c := 1.0
	for i := 1; i <= k; i++ {
		c *= float64(n-k+i) / float64(i)
	}
	return c
}

// Fisher's p-values against the definition, by listing every table.
func TestFisherByListing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tab := drawTable(t, 25)
		if tab.total() == 0 {
			return
		}
		got, err := Fisher(tab)
		if err != nil {
			t.Fatal(err)
		}
		if tab.fixed() {
			return
		}
		lo, hi := tab.support()
		row, other, col := tab.A+tab.B, tab.C+tab.D, tab.A+tab.C
		prob := func(a int) float64 { return choose(row, a) * choose(other, col-a) / choose(row+other, col) }
		var less, greater, below, ties float64
		here := prob(tab.A)
		for a := lo; a <= hi; a++ {
			p := prob(a)
			if a <= tab.A {
				less += p
			}
			if a >= tab.A {
				greater += p
			}
			if p < here*(1-1e-7) {
				below += p
			} else if p <= here*(1+1e-7) {
				ties += p
			}
		}
		for _, c := range []struct {
			what      string
			got, want float64
		}{
			{"less", got.Less, less}, {"greater", got.Greater, greater}, {"two-sided", got.TwoSided, below + ties},
			{"mid-p", got.MidP, below + ties/2}, {"mid less", got.MidLess, less - here/2}, {"mid greater", got.MidGreater, greater - here/2},
		} {
			if math.Abs(c.got-c.want) > 1e-10*c.want {
				t.Fatalf("%v %s: got %v, want %v", tab, c.what, c.got, c.want)
			}
		}
	})
}

func drawTable(t *rapid.T, most int) Table2 {
	cell := rapid.IntRange(0, most)
	return Table2{cell.Draw(t, "a"), cell.Draw(t, "b"), cell.Draw(t, "c"), cell.Draw(t, "d")}
}

func TestOddsRatioProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tab := drawTable(t, 2000)
		if tab.total() == 0 || tab.fixed() {
			return
		}
		exact, err := OddsRatioExact(tab, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		mid, err := OddsRatioMidP(tab, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		if mid.Lo < exact.Lo*(1-1e-9) || (exact.Hi.Bounded && mid.Hi.Value > exact.Hi.Value*(1+1e-9)) {
			t.Fatalf("mid-p %+v is wider than exact %+v", mid, exact)
		}
		if exact.Value.Bounded && (exact.Lo > exact.Value.Value || exact.Hi.Bounded && exact.Hi.Value < exact.Value.Value) {
			t.Fatalf("estimate outside its limits: %+v", exact)
		}
		// Swapping the rows turns the ratio over.
		flip, err := OddsRatioExact(Table2{tab.C, tab.D, tab.A, tab.B}, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		if exact.Hi.Bounded && exact.Hi.Value > 0 && math.Abs(flip.Lo*exact.Hi.Value-1) > 1e-7 {
			t.Fatalf("rows swapped: %+v against %+v", flip, exact)
		}
		// The lower limit clears 1 exactly when the one-sided p is below 2.5%.
		p, err := Fisher(tab)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(p.Greater-0.025) > 1e-9 && (exact.Lo > 1) != (p.Greater < 0.025) {
			t.Fatalf("limits %+v disagree with p %v", exact, p.Greater)
		}
		if math.Abs(p.MidGreater-0.025) > 1e-9 && (mid.Lo > 1) != (p.MidGreater < 0.025) {
			t.Fatalf("mid-p limits %+v disagree with p %v", mid, p.MidGreater)
		}
	})
}

func TestRiskRatioScoreProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n1, n2 := rapid.IntRange(1, 5000).Draw(t, "n1"), rapid.IntRange(1, 5000).Draw(t, "n2")
		x1, x2 := rapid.IntRange(0, n1).Draw(t, "x1"), rapid.IntRange(0, n2).Draw(t, "x2")
		if x1 == 0 && x2 == 0 {
			return
		}
		r, err := RiskRatioScore(x1, n1, x2, n2, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		if r.Value.Bounded && (r.Lo > r.Value.Value || !r.Hi.Bounded || r.Hi.Value < r.Value.Value) {
			t.Fatalf("estimate outside its limits: %+v", r)
		}
		flip, err := RiskRatioScore(x2, n2, x1, n1, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		if r.Hi.Bounded && math.Abs(flip.Lo*r.Hi.Value-1) > 1e-7 {
			t.Fatalf("groups swapped: %+v against %+v", flip, r)
		}
		// The limit solves the equation it is defined by.
		if r.Lo > 0 && math.Abs(scoreZ(x1, n1, x2, n2, r.Lo)-1.959963984540054) > 1e-6 {
			t.Fatalf("score at the lower limit is %v", scoreZ(x1, n1, x2, n2, r.Lo))
		}
	})
}

// Exact and asymptotic answers meet at ten million visits.
func TestTablesLargeN(t *testing.T) {
	tab := Table2{30_000, 970_000, 250_000, 8_750_000}
	exact := value(OddsRatioExact(tab, 0.95))(t)
	or := 30_000.0 * 8_750_000 / (970_000.0 * 250_000)
	se := math.Sqrt(1/30_000.0 + 1/970_000.0 + 1/250_000.0 + 1/8_750_000.0)
	near(t, "odds ratio", exact.Value.Value, or, 1e-5)
	near(t, "lower", exact.Lo, or*math.Exp(-1.959963984540054*se), 1e-4)
	near(t, "upper", exact.Hi.Value, or*math.Exp(1.959963984540054*se), 1e-4)
	null := Table2{28_200, 971_800, 252_000, 8_748_000}
	p := value(Fisher(null))(t)
	cmh := value(CMH([]Table2{null}, false))(t)
	// The lattice leaves about half the chance of one table, here 0.0006, between them.
	near(t, "mid-p against chi-square", p.MidP, cmh.P, 5e-3)
}

func BenchmarkFisherTenMillion(b *testing.B) {
	for b.Loop() {
		if _, err := Fisher(Table2{2_500_100, 2_499_900, 2_499_900, 2_500_100}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkOddsRatioExactTenMillion(b *testing.B) {
	for b.Loop() {
		if _, err := OddsRatioExact(Table2{2_500_100, 2_499_900, 2_499_900, 2_500_100}, 0.95); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkOddsRatioExactSmall(b *testing.B) {
	for b.Loop() {
		if _, err := OddsRatioExact(Table2{7, 15, 58, 472}, 0.95); err != nil {
			b.Fatal(err)
		}
	}
}
